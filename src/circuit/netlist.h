// SPDX-License-Identifier: Apache-2.0
// The loom flattened to nodes and two-terminal elements: what the solver sees. Every element keeps the name and the
// item of the drawing it came from. Parameters are nominal; setups, unplugging and faults are applied on top, never
// here. Units: ohm, V, A, W. An element's current flows from a to b through it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "circuit/loom.h"
#include "circuit/netlist_ids.h"

namespace halfsplit::circuit {

enum class ElementKind : std::uint8_t {
  kWire,          // ohm
  kContact,       // ohm; open while its connector is apart
  kJoint,         // a wire's lug or crimp at a stud or splice, a battery clamp, a stud to its frame: ohm
  kFuse,          // ohm; melts above blow_a
  kSwitch,        // ohm when closed
  kRelayCoil,     // ohm; decides its contacts
  kRelayContact,  // ohm when closed; control = coil
  kDiode,         // knee volt, slope ohm; also an LED lamp, an alternator (a source that only feeds)
  kLamp,          // filament: rated volt, watt; R(v) = (volt^2/watt)*sqrt(k^2 + (1-k^2)*|v|/volt), k = kLampCold
  kResistor,      // ohm: loads, senders, tracks, terminators, pull-ups, inputs
  kSource,        // volt behind ohm, + at a
  kRail,          // a module's internal supply: volt behind ohm while the module lives, off_ohm when dead; + at a
  kDriver,        // ohm when on: module alive and commanded
  kRatio,         // three-wire sensor: a at share x (V(c)-V(d)) above b, behind ohm; open when V(c)-V(d) < volt
};

constexpr double kLampCold = 1.0 / 12.0;  // cold resistance as a share of hot (common practice: 1/10 to 1/15)
constexpr double kLeastTrackOhm = 0.5;    // a wiper at the end of its track (ours)
constexpr double kFuseBlowFactor = 1.35;  // ISO 8820-3, 135 % row (from memory): melts within 600 s

// Where an element comes from on the drawing.
struct Item {
  enum class Kind : std::uint8_t { kNone, kWire, kConnector, kSplice, kStud, kPart, kModule };
  Kind kind = Kind::kNone;
  std::uint32_t index = 0;  // of the id of that kind
  std::string cavity;       // kConnector: which cavity
  friend bool operator==(const Item&, const Item&) = default;
};

struct Element {
  ElementKind kind = ElementKind::kResistor;
  std::string name;  // "J4:12", "oil-temp.1", "F3", "K1:30-87", "BCM.A:14 pull-up"
  NodeId a, b;
  NodeId c, d;  // kRatio: the pins whose volts it shares out
  double ohm = 0.0;
  double volt = 0.0;
  double share = 0.0;            // kRatio
  double watt = 0.0;             // kLamp
  double blow_a = 0.0;           // kFuse
  double limit_a = 0.0;          // kDriver: 0 = never switches off by itself
  double off_ohm = 0.0;          // kRail
  double drop_out_v = 0.0;       // kRelayCoil (volt = pull-in)
  double tolerance = 0.0;        // half-width of the main value, as a share of it (3 sigma of a normal spread)
  bool normally_closed = false;  // kSwitch, kRelayContact
  ElementId control;             // kRelayContact: its coil; kDriver with `follows`: the element whose volts it follows
  double follows_v = 0.0;        // kDriver
  bool follows_below = false;
  bool always_commanded = false;  // kDriver: no on_with, no follows: never on; see pin record
  std::vector<SetupId> on_with;   // kDriver, kSource: works only with all made
  ConnectorId connector;          // kContact: open while this is apart
  ModuleId module;                // kRail, kDriver: lives and dies with it
  PartId part;                    // the part it models, when there is one
  Item item;
};

// Where a probe can touch.
struct Point {
  std::string name;  // canonical: "J4:12@cab", "BAT:+@battery.1"
  NodeId node;
  PlaceId place;
  ConnectorId connector;  // none: always bare
  std::uint8_t side = 0;
  std::string cavity;
  bool probe = true;             // false: no probe reaches it at all
  bool needs_unplugged = false;  // reached only with its connector apart
  PartId part;                   // terminals of parts, and lugs on them
  ModuleId module;               // pins of modules
  WireId lug;                    // of this wire, on a stud or a terminal of a part without a plug; its joint between
  Hazard hazard = Hazard::kNone;
  bool module_pin = false;  // on the same node or across one plug from a module's pin: no test lamp here
};

// How a module is judged alive.
struct ModuleWiring {
  NodeId supply, ground;  // internal nodes
  bool supply_drawn = false;
  bool ground_drawn = false;
  double alive_above_v = 0.0;
  std::vector<NodeId> pin_node;        // internal node of each pin, by index into Module::pins
  std::vector<ElementId> pin_element;  // driver of each pin; none for others
  std::vector<std::size_t> seats;      // indices into Netlist::transceivers
};

// A module's seat on a bus.
struct Transceiver {
  ModuleId module;
  BusId bus;
  NodeId high, low;               // at the unit's pins; one-wire buses: high only
  NodeId drive_high, drive_low;   // rails that one that holds the bus is joined to through the kind's drive_ohm
  std::size_t place = 0;          // among the seats of its bus
  ElementId pull_up_diode;        // LIN
  ElementId bias_high, bias_low;  // what holds the line while nobody drives
};

struct BusWiring {
  BusKind kind = BusKind::kCan;
  std::vector<std::size_t> seats;  // indices into Netlist::transceivers, in the order of the modules
  NodeId reader_high, reader_low;  // none: no reader drawn
  // By node: to which lines' pins metal joins it; a one-wire bus has a high line only.
  static constexpr std::uint8_t kHigh = 1, kLow = 2;
  std::vector<std::uint8_t> line;
  double cable_m = 0.0;  // all wires on its high line (one-wire: on the wire)
};

struct Netlist {
  std::vector<std::string> node_names;
  std::vector<Element> elements;
  std::vector<Point> points;
  std::vector<ModuleWiring> modules;  // by ModuleId
  std::vector<Transceiver> transceivers;
  std::vector<BusWiring> buses;          // by BusId
  std::vector<NodeId> frame_nodes;       // by FrameId
  std::vector<ElementId> wire_elements;  // by WireId
  NodeId supply;                         // battery "+", for shorts to supply; none when no battery is drawn
  NodeId reference;                      // battery "-", else the first frame
  std::unordered_map<std::string, PointId> point_by_name;

  [[nodiscard]] std::size_t node_count() const { return node_names.size(); }
};

// Flattens. The loom is valid (the reader saw to it); a broken id is a bug.
[[nodiscard]] Netlist build_netlist(const Loom& loom);

// The point a wire's end stands for, as a name.
[[nodiscard]] std::string end_point_name(const Loom& loom, const EndPoint& end);

// Looks a point up as a user types it: canonical, or without its side. Without a side: the loom side of a unit's plug;
// an inline cavity without side resolves only when both sides are meant alike (mated): the first side is returned.
[[nodiscard]] std::optional<PointId> find_point(const Netlist& netlist, std::string_view text);

// Curve helpers (docs/formats/loom.md, part 2).
[[nodiscard]] double curve_value(const Curve& curve, double x);                   // linear, held at the ends
[[nodiscard]] std::optional<double> curve_inverse(const Curve& curve, double y);  // none outside the curve
[[nodiscard]] double sensor_ohm(const Part& part);                                // NTC/PTC/sender at its `at`
[[nodiscard]] std::optional<double> sensor_value(const Part& part, double y);     // ohm or share -> value; none outside
[[nodiscard]] double copper_ohm(double size_mm2, double length_m, double temperature_c);

}  // namespace halfsplit::circuit
