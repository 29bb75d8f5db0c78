// SPDX-License-Identifier: Apache-2.0
// What each fault does to the circuit (docs/formats/loom.md, "Faults").
#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/check.h"
#include "circuit/bus_kinds.h"
#include "fault/fault.h"

namespace halfsplit::fault {

namespace {

using circuit::Element;
using circuit::ElementId;
using circuit::Netlist;

Change set_value(Change::Kind kind, ElementId element, double value) {
  Change change;
  change.kind = kind;
  change.element = element;
  change.value = value;
  return change;
}
Change set_ohm(ElementId element, double ohm) { return set_value(Change::Kind::kOhm, element, ohm); }
Change force(ElementId element, bool on) { return set_value(Change::Kind::kForce, element, on ? 1.0 : 0.0); }

// Inside a part or a module, when it sits on one: gone when a known-good one is in its place.
Change branch_inside(const Fault& fault, double ohm) {
  Change change = make_branch(fault.a, fault.b, ohm);
  if (fault.item.kind == circuit::Item::Kind::kPart) change.part = circuit::PartId(fault.item.index);
  if (fault.item.kind == circuit::Item::Kind::kModule) change.module = circuit::ModuleId(fault.item.index);
  return change;
}

Change dead(circuit::ModuleId module) {
  Change change;
  change.kind = Change::Kind::kDead;
  change.module = module;
  return change;
}

// What a module does on a bus, the circuit aside.
Change on_bus(Change::Kind kind, const Fault& fault) {
  Change change = dead(fault.module);
  change.kind = kind;
  change.value = fault.bus.is_none() ? 0.0 : fault.bus.index();
  return change;
}

// Its driven rails on its lines; they go with the module's life.
std::vector<Change> hold_bus(const Netlist& netlist, const Fault& fault) {
  std::vector<Change> changes;
  for (const circuit::Transceiver& seat : netlist.transceivers) {
    if (seat.module != fault.module || seat.bus != fault.bus) continue;
    const circuit::BusKindRecord& kind = circuit::bus_kind(netlist.buses.at(seat.bus.index()).kind);
    changes.push_back(make_branch(seat.drive_high, seat.high, kind.high.drive_ohm));
    if (!seat.low.is_none()) changes.push_back(make_branch(seat.drive_low, seat.low, kind.low.drive_ohm));
  }
  for (Change& change : changes) change.module = fault.module;
  return changes;
}

// A relay's two contacts move together.
std::vector<Change> force_with_twin(const Netlist& netlist, ElementId id, bool on) {
  std::vector<Change> changes{force(id, on)};
  const Element& e = netlist.elements[id.index()];
  if (e.kind != circuit::ElementKind::kRelayContact) return changes;
  for (std::size_t i = e.control.index() + 1; i < netlist.elements.size(); ++i) {  // contacts follow their coil
    const Element& other = netlist.elements[i];
    if (other.control != e.control) break;
    if (i != id.index()) changes.push_back(force(ElementId(i), other.normally_closed == e.normally_closed ? on : !on));
  }
  return changes;
}

std::vector<Change> swap_pins(const Netlist& netlist, const Fault& fault) {
  const Element& one = netlist.elements[fault.element.index()];
  const Element& two = netlist.elements[fault.other.index()];
  Change there = make_branch(one.a, two.b, one.ohm);
  Change back = make_branch(two.a, one.b, two.ohm);
  there.connector = back.connector = one.connector;
  return {set_ohm(fault.element, kOpenOhm), set_ohm(fault.other, kOpenOhm), there, back};
}

// An open, a resistance between two nodes, or a module that is dead: what of these the fault names.
std::vector<Change> shown_now_and_then(const Fault& fault, double ohm) {
  if (!fault.module.is_none()) return {dead(fault.module)};
  if (!fault.a.is_none()) return {make_branch(fault.a, fault.b, ohm)};
  return {set_ohm(fault.element, kOpenOhm)};
}

// The output of a three-wire sensor; or both halves of a track, whose sum stays.
std::vector<Change> stuck_at(const Netlist& netlist, const Fault& fault, double share) {
  if (fault.other.is_none()) return {set_value(Change::Kind::kShare, fault.element, share)};
  const double track = netlist.elements.at(fault.element.index()).ohm + netlist.elements.at(fault.other.index()).ohm;
  return {set_ohm(fault.element, std::max(circuit::kLeastTrackOhm, track * share)),
          set_ohm(fault.other, std::max(circuit::kLeastTrackOhm, track * (1.0 - share)))};
}

// Of a three-wire sensor its share of the supply, of all others its resistance.
Change scaled(const Element& e, ElementId id, double factor) {
  if (e.kind == circuit::ElementKind::kRatio) return set_value(Change::Kind::kShare, id, e.share * factor);
  return set_ohm(id, e.ohm * factor);
}

}  // namespace

Change make_branch(circuit::NodeId a, circuit::NodeId b, double ohm) {
  Change change;
  change.kind = Change::Kind::kBranch;
  change.a = a;
  change.b = b;
  change.value = ohm;
  return change;
}

double severity_at(const Fault& fault, double u) {
  if (!has_range(fault)) return fault.low;
  if (fault.logarithmic) return fault.low * std::pow(fault.high / fault.low, u);
  return fault.low + (fault.high - fault.low) * u;
}

std::vector<Change> changes_of(const Netlist& netlist, const Fault& fault, double severity) {
  const auto nominal = [&] { return netlist.elements.at(fault.element.index()); };
  switch (fault.kind) {
    case FaultKind::kIntermittent:
      return shown_now_and_then(fault, severity);
    case FaultKind::kOpen:
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
      return {scaled(nominal(), fault.element, severity)};
    case FaultKind::kStuck:
      return stuck_at(netlist, fault, severity);
    case FaultKind::kFlat:
    case FaultKind::kLowCharge:
    case FaultKind::kOvercharge:
      return {set_value(Change::Kind::kVolt, fault.element, nominal().volt * severity)};
    case FaultKind::kToSupply:
    case FaultKind::kTouches:
    case FaultKind::kWater:
    case FaultKind::kDoubled:
      return {make_branch(fault.a, fault.b, severity)};
    case FaultKind::kToGround:
    case FaultKind::kShorted:
    case FaultKind::kInputDamaged:
    case FaultKind::kLeaks:
      return {branch_inside(fault, severity)};
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
      return {dead(fault.module)};
    case FaultKind::kMute:
      return {on_bus(Change::Kind::kMute, fault)};
    case FaultKind::kBabbles:
      return {on_bus(Change::Kind::kBabbles, fault)};
    case FaultKind::kPassesNothing:
      return {on_bus(Change::Kind::kPassesNothing, fault)};
    case FaultKind::kHoldsBus:
      return hold_bus(netlist, fault);
  }
  base::fail_check(__FILE__, __LINE__, "unknown kind of fault");
}

std::string_view fault_kind_word(FaultKind kind) {
  constexpr std::string_view kWords[] = {"open",        "high resistance", "comes and goes", "to ground",
                                         "to supply",   "touches",         "swapped",        "water",
                                         "wrong value", "shorted",         "stuck",          "blown",
                                         "stuck open",  "stuck closed",    "coil open",      "burnt",
                                         "missing",     "doubled",         "dead",           "input damaged",
                                         "output dead", "output stuck on", "flat",           "weak",
                                         "no charge",   "low charge",      "overcharge",     "leaks",
                                         "mute",        "holds the bus",   "babbles",        "passes nothing on"};
  static_assert(std::size(kWords) == kFaultKinds);
  return kWords[static_cast<std::size_t>(kind)];
}

}  // namespace halfsplit::fault
