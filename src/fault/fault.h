// SPDX-License-Identifier: Apache-2.0
// A fault: one thing wrong with one item of the drawing, with its prior rate, its range of severities, and the repair
// that would mend it. The universe of a loom is the list of all of them. Changes are what a fault does to the circuit;
// both solving paths (refactorised and low-rank) apply the same changes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::fault {

using FaultId = base::Id<struct FaultTag>;
using RepairId = base::Id<struct RepairTag>;

enum class FaultKind : std::uint8_t {
  kOpen,            // contact spread or backed out, wire broken, part open inside
  kHighResistance,  // corroded contact, crimp, lug, stud; a chafed wire; severity range
  kIntermittent,    // an open, a short to ground or a dead module that comes and goes
  kToGround,        // wire chafed to the nearest frame
  kToSupply,        // wire chafed to a live one
  kTouches,         // two neighbours in a bundle or a connector joined
  kSwapped,         // two pins of a plug exchanged
  kWater,           // leakage between neighbouring cavities; severity range
  kWrongValue,      // sensor, sender, resistor off its curve; severity range
  kShorted,         // a part shorted inside
  kStuck,           // three-wire sensor: output fixed; potentiometer: wiper fixed; severity range
  kBlown,           // fuse open by itself (age, surge)
  kStuckOpen,       // switch or relay contact never closes
  kStuckClosed,     // welded: never opens
  kCoilOpen,        // relay coil
  kBurnt,           // relay or switch contact with resistance; severity range
  kMissing,         // terminator not there
  kDoubled,         // one terminator too many at this plug
  kDead,            // module does nothing
  kInputDamaged,    // module input leaks to its ground or its supply; severity range
  kOutputDead,      // driver never on
  kOutputStuckOn,   // driver never off
  kFlat,            // battery discharged; severity range
  kWeak,            // battery with high internal resistance; severity range
  kNoCharge,        // alternator gives nothing
  kLowCharge,       // alternator regulates too low; severity range
  kOvercharge,      // alternator regulates too high; severity range
  kLeaks,           // something that should block conducts a little: alternator diodes, a driver; severity range
  kMute,            // a module's seat on one bus: neither sends nor hears, though the module lives
  kHoldsBus,        // ... holds the bus dominant
  kBabbles,         // ... sends without end, before everybody else
  kPassesNothing,   // a gateway passes nothing on between its buses
};
constexpr std::size_t kFaultKinds = static_cast<std::size_t>(FaultKind::kPassesNothing) + 1;

[[nodiscard]] std::string_view fault_kind_word(FaultKind kind);

// One change to the circuit.
struct Change {
  enum class Kind : std::uint8_t {
    kOhm,     // element's resistance becomes `value` (infinity: open)
    kVolt,    // element's volts become `value`
    kShare,   // kRatio: share becomes `value`
    kBranch,  // a new resistance `value` (0: dead short) between nodes a and b
    kForce,   // element conducts (value 1) or not (value 0), whatever its states say
    kDead,    // module is not alive; with value 1: alive, whatever its supply
    kSource,  // a source of `volt` behind `value` ohm, + at a, - at b (a reader that drives the bus)
    // What a module does on a bus, and nothing to the circuit: `value` is the index of the bus.
    kMute,
    kBabbles,
    kPassesNothing,  // of the module as a whole
  };
  Kind kind = Kind::kOhm;
  circuit::ElementId element;
  circuit::NodeId a, b;
  circuit::ModuleId module;  // kDead; kBranch: inside this module
  double value = 0.0;
  double volt = 0.0;
  circuit::PartId part{};            // kBranch: inside this part
  circuit::ConnectorId connector{};  // kBranch: there only while this is together
  friend bool operator==(const Change&, const Change&) = default;
};

constexpr double kOpenOhm = std::numeric_limits<double>::infinity();

struct Fault {
  std::string name;         // stable: "J4:12 open", "oil-temp.2 to ground"
  std::string description;  // for people: "J4 cavity 12: contact spread or backed out (open)"
  FaultKind kind = FaultKind::kOpen;
  std::string_view row;        // with `kind`, its record in the rate table (rates.h)
  circuit::Item item;          // what it sits on
  circuit::ElementId element;  // main element, when there is one
  circuit::ElementId other;    // kSwapped: second contact; kStuck of a potentiometer: its other half
  circuit::NodeId a, b;        // the nodes that are joined, where a resistance comes between two
  circuit::ModuleId module;    // dead now and then, or for good; kMute, kHoldsBus, kBabbles, kPassesNothing
  circuit::BusId bus;          // kMute, kHoldsBus, kBabbles
  circuit::PlaceId place;      // where it sits, as far as the drawing says
  RepairId repair;
  double rate_per_year = 0.0;    // ours, by kind and stress (rates.h)
  double low = 0.0, high = 0.0;  // severity range in `unit`; equal: no range
  bool logarithmic = true;       // how severity is spread over the range
  std::string_view unit;         // "ohm", "V", "x" (factor), "share"
};

// What would be done. Several faults may share one.
struct Repair {
  std::string name;       // "remake contact J4:12", "replace B7"
  double minutes = 10.0;  // hands on, once its place is reached
  double part_money = 0.0;
  std::string part;  // what is fitted; empty when nothing is bought
  circuit::PlaceId place;
  circuit::ConnectorId unplugs;  // it is done with this apart
  circuit::Item item;
};

struct Universe {
  std::vector<Fault> faults;
  std::vector<Repair> repairs;
  // Fault by its name; none when there is no such fault.
  [[nodiscard]] FaultId find(std::string_view name) const;
};

// Taught by proven jobs: factors of the rate table's records, and of single faults, by name; 1 where nothing is said.
class RateOverlay {
 public:
  void set(std::string_view item, FaultKind kind, double factor) { factors_[{std::string(item), kind}] = factor; }
  [[nodiscard]] double factor(std::string_view item, FaultKind kind) const {
    const auto found = factors_.find({std::string(item), kind});
    return found == factors_.end() ? 1.0 : found->second;
  }

 private:
  std::map<std::pair<std::string, FaultKind>, double> factors_;
};

// Every single fault of the loom, in drawing order: joints, wires, parts, modules.
[[nodiscard]] Universe make_universe(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                     const RateOverlay& learned = {});

// Has the fault a range of severities?
[[nodiscard]] inline bool has_range(const Fault& fault) { return fault.high > fault.low; }
// A new resistance between two nodes (0: dead short).
[[nodiscard]] Change make_branch(circuit::NodeId a, circuit::NodeId b, double ohm);
// The severity at quantile u in [0, 1]: evenly in the logarithm or in the value.
[[nodiscard]] double severity_at(const Fault& fault, double u);
// What the fault does to the circuit at that severity.
[[nodiscard]] std::vector<Change> changes_of(const circuit::Netlist& netlist, const Fault& fault, double severity);

}  // namespace halfsplit::fault
