// SPDX-License-Identifier: Apache-2.0
// What each fault does to the circuit (docs/formats/loom.md, "Faults").
#include <cmath>

#include "base/check.h"
#include "fault/fault.h"

namespace halfsplit::fault {

namespace {

using circuit::Element;
using circuit::ElementId;
using circuit::Netlist;

Change set_ohm(ElementId element, double ohm) { return {Change::Kind::kOhm, element, {}, {}, {}, ohm, 0.0}; }
Change force(ElementId element, bool on) { return {Change::Kind::kForce, element, {}, {}, {}, on ? 1.0 : 0.0, 0.0}; }
Change branch(circuit::NodeId a, circuit::NodeId b, double ohm) { return {Change::Kind::kBranch, {}, a, b, {}, ohm, 0.0}; }

// A relay's two contacts move together.
std::vector<Change> force_with_twin(const Netlist& netlist, ElementId id, bool on) {
  std::vector<Change> changes{force(id, on)};
  const Element& e = netlist.elements[id.index()];
  if (e.kind != circuit::ElementKind::kRelayContact) return changes;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    const Element& other = netlist.elements[i];
    if (i != id.index() && other.kind == e.kind && other.control == e.control)
      changes.push_back(force(ElementId(i), other.normally_closed == e.normally_closed ? on : !on));
  }
  return changes;
}

std::vector<Change> swap_pins(const Netlist& netlist, const Fault& fault) {
  const Element& one = netlist.elements[fault.element.index()];
  const Element& two = netlist.elements[fault.other.index()];
  return {set_ohm(fault.element, kOpenOhm), set_ohm(fault.other, kOpenOhm), branch(one.a, two.b, one.ohm), branch(two.a, one.b, two.ohm)};
}

}  // namespace

double severity_at(const Fault& fault, double u) {
  if (!has_range(fault)) return fault.low;
  if (fault.logarithmic) return fault.low * std::pow(fault.high / fault.low, u);
  return fault.low + (fault.high - fault.low) * u;
}

std::vector<Change> changes_of(const Netlist& netlist, const Fault& fault, double severity) {
  const auto nominal = [&] { return netlist.elements.at(fault.element.index()); };
  switch (fault.kind) {
    case FaultKind::kOpen:
    case FaultKind::kIntermittent:
    case FaultKind::kBlown:
    case FaultKind::kMissing:
    case FaultKind::kCoilOpen:
      return {set_ohm(fault.element, kOpenOhm)};
    case FaultKind::kHighResistance:
    case FaultKind::kBurnt:
      return {set_ohm(fault.element, nominal().ohm + severity)};
    case FaultKind::kWeak:
      return {set_ohm(fault.element, severity)};
    case FaultKind::kWrongValue:
      return {set_ohm(fault.element, nominal().ohm * severity)};
    case FaultKind::kStuck:
      return {{Change::Kind::kShare, fault.element, {}, {}, {}, severity, 0.0}};
    case FaultKind::kFlat:
      return {{Change::Kind::kVolt, fault.element, {}, {}, {}, nominal().volt * severity, 0.0}};
    case FaultKind::kToGround:
    case FaultKind::kToSupply:
    case FaultKind::kTouches:
    case FaultKind::kWater:
    case FaultKind::kShorted:
    case FaultKind::kDoubled:
    case FaultKind::kInputDamaged:
      return {branch(fault.a, fault.b, severity)};
    case FaultKind::kSwapped:
      return swap_pins(netlist, fault);
    case FaultKind::kStuckOpen:
      return force_with_twin(netlist, fault.element, false);
    case FaultKind::kStuckClosed:
      return force_with_twin(netlist, fault.element, true);
    case FaultKind::kOutputDead:
    case FaultKind::kNoCharge:
      return {force(fault.element, false)};
    case FaultKind::kOutputStuckOn:
      return {force(fault.element, true)};
    case FaultKind::kDead:
      return {{Change::Kind::kDead, {}, {}, {}, fault.module, 0.0, 0.0}};
  }
  base::fail_check(__FILE__, __LINE__, "unknown kind of fault");
}

std::string_view fault_kind_word(FaultKind kind) {
  constexpr std::string_view kWords[] = {"open", "high resistance", "comes and goes", "to ground", "to supply", "touches", "swapped",
                                         "water", "wrong value", "shorted", "stuck", "blown", "stuck open", "stuck closed", "coil open",
                                         "burnt", "missing", "doubled", "dead", "input damaged", "output dead", "output stuck on",
                                         "flat", "weak", "no charge"};
  return kWords[static_cast<std::size_t>(kind)];
}

}  // namespace halfsplit::fault
