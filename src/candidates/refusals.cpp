// SPDX-License-Identifier: Apache-2.0
// What must not be done, and why: high voltage, airbags, ohms on a live circuit, lamps on signal pins, heat on
// dangerous goods, what is fitted across a supply.
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "base/number.h"
#include "candidates/generate.h"

namespace halfsplit::candidates {

namespace {

using circuit::Element;
using circuit::ElementKind;
using circuit::NodeId;
using circuit::PointId;
using evidence::Kind;
using evidence::Observable;

// Heat and cold: never on airbag and high-voltage circuits, heat not on a dangerous goods vehicle's.
std::string refusal_to_warm(const circuit::Loom& loom, const Observable& what) {
  using ItemKind = circuit::Item::Kind;
  const circuit::Item item = !what.part.is_none()        ? circuit::Item{ItemKind::kPart, what.part.value, ""}
                             : !what.module.is_none()    ? circuit::Item{ItemKind::kModule, what.module.value, ""}
                             : !what.connector.is_none() ? circuit::Item{ItemKind::kConnector, what.connector.value, ""}
                                                         : circuit::Item{ItemKind::kWire, what.wire.value, ""};
  if (carries(loom, item, circuit::Hazard::kHighVoltage))
    return "High voltage: stop. Qualified people only; no test here.";
  if (carries(loom, item, circuit::Hazard::kAirbag))
    return "Airbag or pretensioner circuit: neither heat nor cold on it.";
  if (what.kind == Kind::kHeat && carries(loom, item, circuit::Hazard::kDangerousGoods))
    return "Dangerous goods vehicle: no hot air gun here.";
  return "";
}

// Of a clamp or a wiggle: is the wire of this hazard, or does it end at what is?
bool runs_to(const GenerateInput& input, circuit::WireId id, circuit::Hazard hazard) {
  if (id.is_none()) return false;
  const circuit::Wire& wire = input.loom.wires.at(id.index());
  const auto ends_there = [&](const circuit::EndPoint& end) {
    const auto point = input.netlist.point_by_name.find(circuit::end_point_name(input.loom, end));
    return point != input.netlist.point_by_name.end() &&
           carries(input.loom, input.netlist.points[point->second.index()], hazard);
  };
  return carries(input.loom, circuit::Item{circuit::Item::Kind::kWire, id.value, ""}, hazard) ||
         ends_there(wire.from) || ends_there(wire.to);
}

constexpr double kLeadMost_a = 30.0;      // a fused test lead; ours
constexpr double kResistorMost_w = 50.0;  // the largest load resistor one would hang into a loom; ours

// As it is, and with all on that is on at work.
std::array<circuit::Configuration, 2> now_and_at_work(const circuit::Loom& loom, const circuit::Configuration& state) {
  circuit::Configuration working = state;
  working.made.insert(loom.in_use.begin(), loom.in_use.end());
  return {electrical_part(loom, state), electrical_part(loom, working)};
}

// A short across a supply, or more than what is fitted bears.
std::string refusal_of_load(const GenerateInput& input, const circuit::Configuration& state,
                            const circuit::Fitted& fitted) {
  if (!input.fitted_load) return "";
  const FittedLoad load = input.fitted_load(state, fitted);
  const bool lead = fitted.kind == circuit::Fitted::Kind::kLead;
  if (!load.overloaded.empty()) {
    const Element& e = input.netlist.elements.at(load.overloaded.front().index());
    const bool fuse = e.kind == ElementKind::kFuse;
    return "It would " + (fuse ? "blow " + input.loom.parts.at(e.part.index()).name : "overload " + e.name) +
           " with nothing wrong: a short of what feeds it.";
  }
  if (lead && load.amperes > kLeadMost_a)
    return "It would carry " + base::format_significant(load.amperes, 2) +
           " A with nothing wrong: a short across the supply. It burns, and a battery may burst.";
  if (!lead && load.watts > kResistorMost_w)
    return "It would turn " + base::format_significant(load.watts, 2) +
           " W into heat with nothing wrong: it burns, and what it touches.";
  return "";
}

}  // namespace

bool within_reach(const GenerateInput& input, const circuit::Configuration& state, PointId a, PointId b,
                  circuit::Hazard hazard) {
  const circuit::Netlist& net = input.netlist;
  bool any = false;
  for (const Element& e : net.elements) any = any || carries(input.loom, e.item, hazard);
  if (!any || a.is_none() || b.is_none()) return false;
  std::vector<char> seen(net.node_count(), 0);
  for (const NodeId frame : net.frame_nodes) seen[frame.index()] = 2;
  if (!net.reference.is_none()) seen[net.reference.index()] = 2;
  if (!net.supply.is_none()) seen[net.supply.index()] = 2;
  for (const PointId p : {a, b}) {
    char& mark = seen[net.points.at(p.index()).node.index()];
    mark = mark == 2 ? char{2} : char{1};
  }
  for (bool more = true; more;) {
    more = false;
    for (const Element& e : net.elements) {
      if (e.kind == ElementKind::kContact && state.unplugged.contains(e.connector)) continue;
      const bool near = seen[e.a.index()] == 1;
      const bool far = seen[e.b.index()] == 1;
      if (!near && !far) continue;
      if (carries(input.loom, e.item, hazard)) return true;
      for (const NodeId node : {e.a, e.b})
        if (seen[node.index()] == 0) {
          seen[node.index()] = 1;
          more = true;
        }
    }
    for (const circuit::Fitted& fitted : state.fitted) {
      char& near = seen[net.points.at(fitted.a.index()).node.index()];
      char& far = seen[net.points.at(fitted.b.index()).node.index()];
      if (std::max(near, far) != 1 || near == far) continue;
      near = far = 1;
      more = true;
    }
  }
  return false;
}

std::string refusal(const GenerateInput& input, const Observable& what) {
  if (what.kind == Kind::kHeat || what.kind == Kind::kCool) return refusal_to_warm(input.loom, what);
  const auto hazard = [&](circuit::Hazard wanted) {
    for (const PointId p : {what.red, what.black})
      if (!p.is_none() && carries(input.loom, input.netlist.points.at(p.index()), wanted)) return true;
    return false;
  };
  const bool run = what.kind == Kind::kInspect && !what.wire.is_none();
  const circuit::Item wire{circuit::Item::Kind::kWire, what.wire.value, ""};
  if (hazard(circuit::Hazard::kHighVoltage) || (run && carries(input.loom, wire, circuit::Hazard::kHighVoltage)))
    return "High voltage: stop. Qualified people only; no test here.";
  const bool ohms = what.kind == Kind::kOhms || what.kind == Kind::kContinuity;
  if (ohms && hazard(circuit::Hazard::kAirbag)) return "Airbag or pretensioner circuit: never an ohmmeter.";
  if (what.kind == Kind::kTestLamp) {
    if (hazard(circuit::Hazard::kAirbag)) return "Airbag or pretensioner circuit: never a test lamp.";
    if (input.netlist.points.at(what.red.index()).module_pin || input.netlist.points.at(what.black.index()).module_pin)
      return "A test lamp draws more than a module's pin can give: use the meter.";
  }
  const bool driven = ohms || what.kind == Kind::kTestLamp;
  const auto reaches = [&](circuit::Hazard wanted) {
    return within_reach(input, what.configuration, what.red, what.black, wanted);
  };
  if (driven && reaches(circuit::Hazard::kAirbag))
    return "An airbag or pretensioner circuit hangs on these points: its current could reach it. Never an ohmmeter or "
           "a "
           "test lamp there; unplug between, by the maker's procedure.";
  if (reaches(circuit::Hazard::kHighVoltage)) return "High voltage hangs on these points: stop. Qualified people only.";
  for (const circuit::Fitted& fitted : what.configuration.fitted)
    for (const PointId p : {fitted.a, fitted.b}) {
      const circuit::Point& point = input.netlist.points.at(p.index());
      if (carries(input.loom, point, circuit::Hazard::kAirbag) ||
          carries(input.loom, point, circuit::Hazard::kHighVoltage))
        return "Nothing may be fitted into this circuit.";
    }
  if (ohms && input.healthy_volts && is_live(input, what.configuration, what.red, what.black))
    return "The circuit is live there: ohms need the supply off.";
  return "";
}

std::string why_not_proposed(const GenerateInput& input, const Observable& what) {
  const std::string refused = refusal(input, what);
  if (!refused.empty()) return refused;
  const bool by_hand = what.kind == Kind::kClamp || what.kind == Kind::kWiggle;
  for (const circuit::Hazard hazard : {circuit::Hazard::kAirbag, circuit::Hazard::kHighVoltage}) {
    bool there = by_hand && runs_to(input, what.wire, hazard);
    for (const PointId p : {what.red, what.black})
      there = there || (!p.is_none() && carries(input.loom, input.netlist.points.at(p.index()), hazard));
    if (!there) continue;
    return hazard == circuit::Hazard::kAirbag ? "Airbag or pretensioner circuit: no test there is proposed, live or "
                                                "dead. The maker's power-down, waiting "
                                                "time and tester; measure elsewhere on what feeds it."
                                              : "High voltage: stop. Qualified people only; no test here.";
  }
  return "";
}

std::string refusal_to_fit(const GenerateInput& input, const circuit::Configuration& state,
                           const circuit::Fitted& fitted) {
  using circuit::Hazard;
  const auto at = [&](Hazard wanted) {
    return carries(input.loom, input.netlist.points.at(fitted.a.index()), wanted) ||
           carries(input.loom, input.netlist.points.at(fitted.b.index()), wanted);
  };
  const auto reaches = [&](Hazard wanted) { return within_reach(input, state, fitted.a, fitted.b, wanted); };
  if (at(Hazard::kHighVoltage)) return "High voltage (orange cables): stop. Qualified people only.";
  if (at(Hazard::kAirbag))
    return "Airbag or pretensioner circuit: nothing may be fitted into it; follow the maker's power-down and waiting "
           "time.";
  if (reaches(Hazard::kHighVoltage)) return "High voltage hangs on these points: stop. Qualified people only.";
  if (reaches(Hazard::kAirbag))
    return "An airbag or pretensioner circuit hangs on these points: what is fitted could feed it. Unplug between, by "
           "the maker's procedure.";
  for (const circuit::Configuration& one : now_and_at_work(input.loom, state))
    if (std::string load = refusal_of_load(input, one, fitted); !load.empty()) return load;
  return "";
}

double most_watts(const GenerateInput& input, const circuit::Configuration& state, const circuit::Fitted& fitted) {
  double most = 0.0;
  if (!input.fitted_load) return most;
  for (const circuit::Configuration& one : now_and_at_work(input.loom, state))
    most = std::max(most, input.fitted_load(one, fitted).watts);
  return most;
}

bool is_live(const GenerateInput& input, const circuit::Configuration& configuration, PointId red, PointId black) {
  const auto volts = [&](PointId a, PointId b) { return std::abs(input.healthy_volts(configuration, a, b)); };
  return volts(red, black) > input.live_v || volts(red, {}) > input.live_v || volts(black, {}) > input.live_v;
}

}  // namespace halfsplit::candidates
