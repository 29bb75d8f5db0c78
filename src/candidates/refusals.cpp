// SPDX-License-Identifier: Apache-2.0
// What must not be done, and why: high voltage, airbags, ohms on a live circuit, lamps on signal pins, heat on
// dangerous goods.
#include <cmath>
#include <vector>

#include "candidates/generate.h"

namespace halfsplit::candidates {

namespace {

using circuit::Element;
using circuit::ElementKind;
using circuit::NodeId;
using circuit::PointId;
using evidence::Kind;
using evidence::Observable;

// Can what the meter drives reach a part of this hazard? From both probes along everything that may conduct in this
// configuration, stopping at the frames and the battery posts (there the current has gone home).
bool reaches(const GenerateInput& input, const Observable& what, circuit::Hazard hazard) {
  const circuit::Netlist& net = input.netlist;
  bool any = false;
  for (const Element& e : net.elements) any = any || hazard_of(input.loom, e) == hazard;
  if (!any || what.red.is_none() || what.black.is_none()) return false;
  std::vector<char> seen(net.node_count(), 0);
  for (const NodeId frame : net.frame_nodes) seen[frame.index()] = 2;
  if (!net.reference.is_none()) seen[net.reference.index()] = 2;
  if (!net.supply.is_none()) seen[net.supply.index()] = 2;
  for (const PointId p : {what.red, what.black}) {
    char& mark = seen[net.points.at(p.index()).node.index()];
    mark = mark == 2 ? char{2} : char{1};
  }
  for (bool more = true; more;) {
    more = false;
    for (const Element& e : net.elements) {
      if (e.kind == ElementKind::kContact && what.configuration.unplugged.contains(e.connector)) continue;
      const bool a = seen[e.a.index()] == 1;
      const bool b = seen[e.b.index()] == 1;
      if (!a && !b) continue;
      if (hazard_of(input.loom, e) == hazard) return true;
      for (const NodeId node : {e.a, e.b})
        if (seen[node.index()] == 0) {
          seen[node.index()] = 1;
          more = true;
        }
    }
  }
  return false;
}

// Heat and cold: never on airbag and high-voltage circuits, heat not on a dangerous goods vehicle's.
std::string refusal_to_warm(const circuit::Loom& loom, const Observable& what) {
  using ItemKind = circuit::Item::Kind;
  const circuit::Item item = !what.part.is_none()        ? circuit::Item{ItemKind::kPart, what.part.value, ""}
                             : !what.module.is_none()    ? circuit::Item{ItemKind::kModule, what.module.value, ""}
                             : !what.connector.is_none() ? circuit::Item{ItemKind::kConnector, what.connector.value, ""}
                                                         : circuit::Item{ItemKind::kWire, what.wire.value, ""};
  switch (hazard_of(loom, item)) {
    case circuit::Hazard::kAirbag:
      return "Airbag or pretensioner circuit: neither heat nor cold on it.";
    case circuit::Hazard::kHighVoltage:
      return "High voltage: stop. Qualified people only; no test here.";
    case circuit::Hazard::kDangerousGoods:
      return what.kind == Kind::kHeat ? "Dangerous goods vehicle: no hot air gun here." : "";
    default:
      return "";
  }
}

}  // namespace

std::string refusal(const GenerateInput& input, const Observable& what) {
  if (what.kind == Kind::kHeat || what.kind == Kind::kCool) return refusal_to_warm(input.loom, what);
  const auto hazard = [&](circuit::Hazard wanted) {
    for (const PointId p : {what.red, what.black})
      if (!p.is_none() && input.netlist.points.at(p.index()).hazard == wanted) return true;
    return false;
  };
  const bool run = what.kind == Kind::kInspect && !what.wire.is_none();
  const circuit::Item wire{circuit::Item::Kind::kWire, what.wire.value, ""};
  if (hazard(circuit::Hazard::kHighVoltage) || (run && hazard_of(input.loom, wire) == circuit::Hazard::kHighVoltage))
    return "High voltage: stop. Qualified people only; no test here.";
  const bool ohms = what.kind == Kind::kOhms || what.kind == Kind::kContinuity;
  if (ohms && hazard(circuit::Hazard::kAirbag)) return "Airbag or pretensioner circuit: never an ohmmeter.";
  if (what.kind == Kind::kTestLamp) {
    if (hazard(circuit::Hazard::kAirbag)) return "Airbag or pretensioner circuit: never a test lamp.";
    if (input.netlist.points.at(what.red.index()).module_pin || input.netlist.points.at(what.black.index()).module_pin)
      return "A test lamp draws more than a module's pin can give: use the meter.";
  }
  const bool driven = ohms || what.kind == Kind::kTestLamp;
  if (driven && reaches(input, what, circuit::Hazard::kAirbag))
    return "An airbag or pretensioner circuit hangs on these points: its current could reach it. Never an ohmmeter or "
           "a "
           "test lamp there; unplug between, by the maker's procedure.";
  if (reaches(input, what, circuit::Hazard::kHighVoltage))
    return "High voltage hangs on these points: stop. Qualified people only.";
  for (const circuit::Fitted& fitted : what.configuration.fitted)
    for (const PointId p : {fitted.a, fitted.b}) {
      const circuit::Hazard h = input.netlist.points.at(p.index()).hazard;
      if (h == circuit::Hazard::kAirbag || h == circuit::Hazard::kHighVoltage)
        return "Nothing may be fitted into this circuit.";
    }
  if (ohms && input.healthy_volts && is_live(input, what.configuration, what.red, what.black))
    return "The circuit is live there: ohms need the supply off.";
  return "";
}

bool is_live(const GenerateInput& input, const circuit::Configuration& configuration, PointId red, PointId black) {
  const auto volts = [&](PointId a, PointId b) { return std::abs(input.healthy_volts(configuration, a, b)); };
  return volts(red, black) > input.live_v || volts(red, {}) > input.live_v || volts(black, {}) > input.live_v;
}

}  // namespace halfsplit::candidates
