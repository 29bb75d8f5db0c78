// SPDX-License-Identifier: Apache-2.0
// The loom: what the drawing says, in the drawing's own words, before any electrical meaning is given to it. Plain
// values, filled by a reader (formats/loom_text) or by a template; flattened by build_netlist (netlist.h).
// Units: ohm, V, A, W, m, mm2, degC, minutes, money in the user's currency. Ids are indices into this Loom's vectors.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/diagnostic.h"
#include "base/ids.h"

namespace halfsplit::circuit {

using PlaceId = base::Id<struct PlaceTag>;
using SetupId = base::Id<struct SetupTag>;
using ConnectorId = base::Id<struct ConnectorTag>;
using SpliceId = base::Id<struct SpliceTag>;
using StudId = base::Id<struct StudTag>;
using FrameId = base::Id<struct FrameTag>;
using WireId = base::Id<struct WireTag>;
using PartId = base::Id<struct PartTag>;
using ModuleId = base::Id<struct ModuleTag>;
using CodeId = base::Id<struct CodeTag>;
using LiveId = base::Id<struct LiveTag>;
using BusId = base::Id<struct BusTag>;
using MessageId = base::Id<struct MessageTag>;

// What wears a joint or a wire out; multiplies prior rates (fault/rates.h).
enum class Stress : std::uint8_t { kFlex, kWet, kHeat, kChafe, kVibration };

// Why hands, meters or leads must take care here. kAirbag: never an ohmmeter. kHighVoltage: stop, qualified people
// only.
enum class Hazard : std::uint8_t { kNone, kBrakes, kSteering, kAirbag, kHighVoltage, kDangerousGoods };

struct Place {
  std::string name;
  double minutes = 0.5;        // to get hands there and back, once its needs are made
  std::vector<SetupId> needs;  // every one made before hands can reach
  std::vector<Stress> stress;
  std::string caution;
  std::string note;
  Hazard hazard = Hazard::kNone;  // of all that is there
  base::Span where;
};

// A state of the vehicle that takes minutes to make and to undo.
struct Setup {
  std::string name;
  double do_minutes = 0.0;
  double undo_minutes = 0.0;
  std::vector<SetupId> needs;                 // made before this one, and not undone while it is made
  std::vector<SetupId> excludes;              // never made together
  std::vector<std::pair<PartId, bool>> sets;  // switch -> closed?
  std::string caution;
  std::string note;
  bool leave =
      false;  // true: a normal state to leave the vehicle in, never a leave-behind (e.g. wheels chocked is not)
  base::Span where;
};

// A plug. Inline: two sides named for where they lead. Of a module or a part: sides "loom" and "unit".
struct Connector {
  std::string name;
  std::string sides[2];
  PlaceId place[2];                            // of each side
  std::vector<std::vector<std::string>> rows;  // cavities as one looks into the face; defines neighbours
  double unplug_minutes = 1.0;
  double plug_minutes = 0.5;
  bool backprobe = true;  // a mated joint can be probed from behind (on both sides)
  bool pluggable = true;
  std::string caution;
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;  // multiplies prior rates of its joints
  std::optional<double> contact_ohm;
  std::optional<double> repair_minutes;
  std::optional<double> part_money;
  // Owner, when it is the plug of a module or of a part.
  ModuleId module;
  PartId part;
  base::Span where;
};

struct Splice {
  std::string name;
  PlaceId place;
  bool probe = true;  // false: buried in the loom, no probe reaches it
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;
  std::optional<double> repair_minutes;
  base::Span where;
};

// A piece of metal that carries return current: a chassis, a trailer frame, an engine block. One node of the circuit.
struct Frame {
  std::string name;
  PlaceId place;  // a clean spot for a probe; none: anywhere, no minutes
  base::Span where;
};

// A bolt that joins wire lugs to a frame.
struct Stud {
  std::string name;
  PlaceId place;
  FrameId frame;
  std::optional<double> ohm;  // stud to frame
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;
  std::optional<double> repair_minutes;
  base::Span where;
};

// One end of a wire, as the drawing names it: a connector cavity with its side, a splice, a stud, a part's or module's
// terminal, a frame.
struct EndPoint {
  enum class Kind : std::uint8_t { kCavity, kSplice, kStud, kTerminal, kFrame };
  Kind kind = Kind::kCavity;
  ConnectorId connector;  // kCavity (inline connectors, module plugs, parts with plugs)
  std::uint8_t side = 0;  // kCavity: 0 or 1
  std::string cavity;     // kCavity: cavity name; kTerminal: terminal name
  SpliceId splice;
  StudId stud;
  PartId part;  // kTerminal: a part without a plug
  FrameId frame;
};

struct Wire {
  std::string name;  // "oil-temp.1": run and hop, or as named by the drawing
  EndPoint from, to;
  std::string colour;  // IEC 60757, e.g. "YE" or "RD/WH"; empty when unknown
  std::optional<double> size_mm2;
  std::optional<double> length_m;
  std::optional<double> ohm;  // overrides size and length
  std::string bundle;         // wires of one bundle can chafe into each other
  std::string pair;           // twisted pair
  PlaceId place;              // where it is most exposed; may be none
  std::string caution;
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;
  std::optional<double> repair_minutes;
  std::optional<double> part_money;
  base::Span where;
};

enum class PartKind : std::uint8_t {
  kFuse,
  kSwitch,
  kRelay,
  kDiode,
  kLamp,
  kMotor,
  kSolenoid,
  kHeater,
  kResistor,
  kTerminator,
  kPotentiometer,
  kNtc,
  kPtc,
  kSender,
  kThreeWireSensor,
  kBattery,
  kAlternator
};

// A curve as points (x, y), x rising strictly. y: ohm (two-wire) or share of the supply (three-wire).
struct Curve {
  std::vector<std::pair<double, double>> points;
};

struct Part {
  std::string name;
  PartKind kind = PartKind::kResistor;
  PlaceId place;
  std::vector<double> values;      // by field of the kind's record in part_kinds.h, defaults filled in
  Curve curve;                     // senders, sensors, NTC/PTC given by points
  ConnectorId plug;                // none: terminals are bolted or soldered
  bool normally_closed = false;    // switch
  bool led = false;                // lamp
  std::vector<SetupId> runs_with;  // alternator: turns only with all of these made
  std::string part_number;         // the user's own; shown on the sheet
  std::string caution;
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;
  std::optional<double> repair_minutes;
  std::optional<double> part_money;
  base::Span where;
};

enum class PinRole : std::uint8_t {
  kSupply,
  kGround,
  kInput,
  kReturn,
  kReference,
  kHighSide,
  kLowSide,
  kCanHigh,
  kCanLow,
  kBusWire,  // the one wire of a bus that has only one
  kUnknown
};

// What stands behind one pin of a module. Fields not used by the role keep their defaults.
struct ModulePin {
  std::string plug;    // "A" in "BCM.A:14"; empty when the module has one unnamed plug
  std::string cavity;  // "14"
  PinRole role = PinRole::kUnknown;
  double draw_a = 0.0;           // supply: at system volts
  double pull_up_ohm = 0.0;      // input: 0 = none
  double pull_up_v = 5.0;        // input
  double pull_down_ohm = 0.0;    // input: 0 = none
  double input_ohm = 0.0;        // input: 0 = the default
  double volt = 5.0;             // reference
  double ohm = 0.0;              // reference, return, drivers: series resistance; 0 = the role's default
  double limit_a = 0.0;          // drivers: switches itself off above; 0 = never
  std::vector<SetupId> on_with;  // drivers: commanded on when all are made
  std::string follows;           // drivers: "A:7", on when that input is active
  double follows_v = 0.0;        // threshold of `follows`; 0 = half of system volts
  bool follows_below = false;    // active below the threshold (a switch to ground)
  BusId bus;                     // bus pins: which bus; the reader fills in the only one
  double unpowered_ohm = 0.0;    // bus pins: a load to the module's ground while it is not alive; 0 = none
  bool commander = false;        // bus-wire of a LIN bus: the node with the strong pull-up
  ConnectorId connector;
  base::Span where;
};

// A two-terminal element inside a module between two of its pins: a terminator, a resistor.
struct ModuleInside {
  PartKind kind = PartKind::kTerminator;
  std::size_t pin_a = 0, pin_b = 0;  // indices into pins
  double ohm = 120.0;
  double tolerance_percent = 1.0;
  base::Span where;
};

constexpr std::uint32_t kLargestAddress = 253;  // 254: none yet, 255: to all (SAE J1939-81)

struct Module {
  std::string name;
  PlaceId place;
  FrameId frame;  // its housing, used as ground when no ground pin is drawn
  std::vector<ModulePin> pins;
  std::vector<ModuleInside> inside;
  double alive_above_v = 0.0;            // supply minus ground; 0 = the default for system volts
  std::vector<SetupId> powered_with;     // when no supply pin is drawn: alive when all are made
  bool answers = true;                   // it answers the code reader when alive
  bool shows_codes = false;              // its own display tells its codes, whatever the bus does
  std::vector<BusId> gateway;            // it passes messages on between these (none, or two and more)
  std::optional<std::uint32_t> address;  // J1939 source address, 0 to kLargestAddress
  std::string part_number;
  std::string caution;
  Hazard hazard = Hazard::kNone;
  double rate = 1.0;
  std::optional<double> repair_minutes;
  std::optional<double> part_money;
  base::Span where;
};

// A monitor in a module and the code it sets.
struct Code {
  enum class Monitor : std::uint8_t {
    kPinAbove,
    kPinBelow,
    kDriverOpen,
    kDriverOver,
    kSupplyBelow,
    kSupplyAbove,
    kLost
  };
  std::string name;  // as the reader shows it: "SPN 175 FMI 3"
  std::string text;
  ModuleId module;
  Monitor monitor = Monitor::kPinAbove;
  std::size_t pin = 0;         // index into the module's pins
  double threshold = 0.0;      // V or A
  ModuleId lost;               // kLost: whose messages, whichever
  MessageId lost_message;      // kLost: this message only; then `lost` is its sender
  std::vector<SetupId> needs;  // the monitor runs only with these made
  double chance = 0.97;        // that the monitor is fitted and sets when its condition holds
  base::Span where;
};

// A value as the module shows it to a reader or on a gauge: computed from the pin's volts through the part's curve.
struct Live {
  std::string name;
  ModuleId module;
  std::size_t pin = 0;
  PartId part;
  std::string unit;
  double low = 0.0, high = 0.0;  // ends of the scale; a value outside shows the nearer end
  double percent = 3.0;          // of the scale: how well a person or the module resolves it
  base::Span where;
};

// A bus: what its pins carry, and where the code reader is plugged in. Figures of each kind: bus_kinds.h.
enum class BusKind : std::uint8_t { kCan, kCanFaultTolerant, kCanSingleWire, kTruckTrailer, kLin };
struct Bus {
  std::string name;
  BusKind kind = BusKind::kCan;
  double bit_rate = 250.0;                          // kbit/s
  double sample_percent = 87.0;                     // of a bit time: when a bit is read
  double dominant_percent = 12.0;                   // of the time at work somebody drives the bus
  std::optional<EndPoint> reader_high, reader_low;  // where the code reader sits; one-wire buses: high only
  bool declared = true;                             // false: the drawing has bus pins and no [buses]
  base::Span where;
};

// What one module sends and others wait for.
struct Message {
  std::string name;
  std::string text;
  ModuleId from;
  std::vector<ModuleId> to;          // empty: whoever can hear it
  BusId bus;                         // on which it is sent; none: on all buses of the sender
  std::optional<std::uint32_t> pgn;  // J1939 parameter group number
  std::optional<std::uint32_t> id;   // CAN identifier as the drawing gives it
  double every_ms = 0.0;             // 0: not said
  base::Span where;
};

struct Defaults {
  double contact_ohm = 0.005;  // design section 4
  double stud_ohm = 0.001;     // stud to frame, and each lug
  double splice_ohm = 0.001;   // each wire of a splice
  double wire_size_mm2 = 1.0;  // when the drawing does not say
  double wire_length_m = 2.0;  // when the drawing does not say
  double input_ohm = 1.0e6;
  double off_ohm = 1.0e4;  // an unpowered internal rail to the module's ground
  double return_ohm = 0.05;
  double driver_ohm = 0.05;
  double reference_ohm = 1.0;
  double can_input_ohm = 30000.0;  // ISO 11898-2 receiver input, each line (data sheet value, shared facts)
};

struct Loom {
  int version = 1;
  std::string name;
  std::string vehicle;
  std::string note;               // where it came from; demo looms say "invented"
  Hazard hazard = Hazard::kNone;  // of the whole vehicle
  double system_volts = 24.0;
  double ambient_c = 20.0;
  std::vector<SetupId> in_use;  // made when the vehicle is at work: blown fuses and stored codes come from there
  Defaults defaults;
  std::vector<Place> places;
  std::vector<Setup> setups;
  std::vector<Connector> connectors;
  std::vector<Splice> splices;
  std::vector<Stud> studs;
  std::vector<Frame> frames;
  std::vector<Wire> wires;
  std::vector<Part> parts;
  std::vector<Module> modules;
  std::vector<Code> codes;
  std::vector<Live> lives;
  std::vector<Bus> buses;
  std::vector<Message> messages;
  PartId supply;  // the battery whose "+" counts as the supply for "short to supply"; none when no battery is drawn
  std::vector<std::string> sources;  // files it was read from, the first is the one the user named
};

}  // namespace halfsplit::circuit
