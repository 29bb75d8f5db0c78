// SPDX-License-Identifier: Apache-2.0
// Laws (docs/formats/loom.md, part 2):
//   resistance   Va - Vb - R*I = 0                     open          I = 0
//   source       Va - Vb - R*I = E                     rail, dead    as a resistance off_ohm
//   diode on     Va - Vb - R*I = knee                  diode off     I = 0
//   filament     I(v) = v / (Rh*sqrt(k^2 + (1-k^2)*|v|/Vr)), its tangent at the last v
//   ratio        Va - Vb - share*(Vc-Vd) - R*I = 0     current source I = inject
#include "electrical/model.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;
using fault::Change;

constexpr double kLeastOhm = 1.0e-6;  // a dead short keeps this, so that two of them in parallel stay solvable

bool all_made(const circuit::Configuration& configuration, const std::vector<circuit::SetupId>& setups) {
  return std::all_of(setups.begin(), setups.end(), [&](circuit::SetupId s) { return configuration.made.contains(s); });
}

Branch from_element(const circuit::Element& e, const circuit::Configuration& configuration) {
  Branch b;
  b.kind = e.kind;
  b.a = e.a;
  b.b = e.b;
  b.c = e.c;
  b.d = e.d;
  b.ohm = e.ohm;
  b.volt = e.volt;
  b.share = e.share;
  b.blow_a = e.blow_a;
  b.limit_a = e.limit_a;
  b.off_ohm = e.off_ohm;
  b.drop_out_v = e.drop_out_v;
  b.follows_v = e.follows_v;
  b.follows_below = e.follows_below;
  b.normally_closed = e.normally_closed;
  b.control = e.control.value;
  b.module = e.module;
  if (e.kind == ElementKind::kContact) b.connected = !configuration.unplugged.contains(e.connector);
  if (e.kind == ElementKind::kSwitch) b.connected = e.normally_closed;
  if (e.kind == ElementKind::kSource || e.kind == ElementKind::kDiode) b.connected = all_made(configuration, e.on_with);
  if (e.kind == ElementKind::kDriver) b.commanded = !e.on_with.empty() && all_made(configuration, e.on_with);
  return b;
}

Branch resistor(NodeId a, NodeId b, double ohm) {
  Branch branch;
  branch.a = a;
  branch.b = b;
  branch.ohm = std::max(ohm, kLeastOhm);
  return branch;
}

Law resistance(double ohm) {
  if (std::isinf(ohm)) return {0.0, 0.0, 1.0, 0.0};
  // Scaled so that neither coefficient is far above one.
  return ohm > 1.0 ? Law{1.0 / ohm, 0.0, -1.0, 0.0} : Law{1.0, 0.0, -ohm, 0.0};
}

constexpr Law kOpenLaw{0.0, 0.0, 1.0, 0.0};

bool conducts_by_state(const Model& model, const States& states, std::size_t index) {
  const Branch& b = model.branches[index];
  if (b.force >= 0) return b.force == 1;
  switch (b.kind) {
    case ElementKind::kRelayContact:
      return (states.on[b.control] != 0) != b.normally_closed;
    case ElementKind::kDiode:
    case ElementKind::kFuse:
    case ElementKind::kDriver:
    case ElementKind::kRatio:
      return b.connected && states.on[index] != 0;
    default:
      return b.connected;
  }
}

Law lamp_law(const Branch& lamp, double at) {
  const double slope = lamp_slope(lamp, at);
  return {slope, 0.0, -1.0, slope * at - lamp_current(lamp, at)};
}

}  // namespace

double lamp_current(const Branch& lamp, double v) {
  constexpr double k2 = circuit::kLampCold * circuit::kLampCold;
  return v / (lamp.ohm * std::sqrt(k2 + (1.0 - k2) * std::abs(v) / lamp.volt));
}

double lamp_slope(const Branch& lamp, double v) {
  constexpr double k2 = circuit::kLampCold * circuit::kLampCold;
  const double u = std::abs(v) / lamp.volt;
  const double s = k2 + (1.0 - k2) * u;
  return (1.0 - 0.5 * (1.0 - k2) * u / s) / (lamp.ohm * std::sqrt(s));
}

Model make_model(const circuit::Loom& loom, const circuit::Netlist& netlist,
                 const circuit::Configuration& configuration) {
  Model model;
  model.nodes = netlist.node_count();
  model.modules = &netlist.modules;
  model.dead.assign(netlist.modules.size(), 0);
  model.branches.reserve(netlist.elements.size() + 8);
  for (const circuit::Element& e : netlist.elements) model.branches.push_back(from_element(e, configuration));
  for (const circuit::SetupId setup : configuration.made)
    for (const auto& [part, closed] : loom.setups.at(setup.index()).sets)
      for (std::size_t i = 0; i < netlist.elements.size(); ++i)
        if (netlist.elements[i].kind == ElementKind::kSwitch && netlist.elements[i].part == part)
          model.branches[i].connected = closed;
  for (const circuit::Fitted& f : configuration.fitted)
    model.branches.push_back(
        resistor(netlist.points.at(f.a.index()).node, netlist.points.at(f.b.index()).node, f.ohm + circuit::kLeadOhm));
  return model;
}

void apply_changes(Model& model, const std::vector<Change>& changes) {
  for (const Change& change : changes) {
    switch (change.kind) {
      case Change::Kind::kOhm:
        model.branches.at(change.element.index()).ohm = change.value;
        if (std::isinf(change.value)) model.branches[change.element.index()].force = 0;
        break;
      case Change::Kind::kVolt:
        model.branches.at(change.element.index()).volt = change.value;
        break;
      case Change::Kind::kShare:
        model.branches.at(change.element.index()).share = change.value;
        break;
      case Change::Kind::kBranch:
        model.branches.push_back(resistor(change.a, change.b, change.value));
        break;
      case Change::Kind::kForce: {
        Branch& b = model.branches.at(change.element.index());
        if (b.force != 0) b.force = change.value > 0.5 ? 1 : 0;  // an open stays open
        break;
      }
      case Change::Kind::kDead:
        model.dead.at(change.module.index()) = change.value > 0.5 ? kHeldAlive : 1;
        break;
      case Change::Kind::kSource:
        model.branches.push_back(resistor(change.a, change.b, change.value));
        model.branches.back().kind = ElementKind::kSource;
        model.branches.back().volt = change.volt;
        break;
      case Change::Kind::kMute:  // what a module does on a bus is no matter of the circuit
      case Change::Kind::kBabbles:
      case Change::Kind::kPassesNothing:
        break;
    }
  }
}

std::vector<Change> remaining_changes(const circuit::Netlist& netlist, const circuit::Configuration& configuration,
                                      std::vector<Change> changes) {
  const auto swapped = [&](ElementId id) {
    const circuit::Element& e = netlist.elements.at(id.index());
    if (e.kind == ElementKind::kContact || e.kind == ElementKind::kJoint) return false;
    return (!e.part.is_none() && configuration.swapped_parts.contains(e.part)) ||
           (!e.module.is_none() && configuration.swapped_modules.contains(e.module));
  };
  std::erase_if(changes, [&](const Change& change) {
    switch (change.kind) {
      case Change::Kind::kBranch:
        return configuration.swapped_parts.contains(change.part) ||
               configuration.swapped_modules.contains(change.module) ||
               configuration.unplugged.contains(change.connector);
      case Change::Kind::kSource:
        return false;
      case Change::Kind::kDead:
      case Change::Kind::kMute:
      case Change::Kind::kBabbles:
      case Change::Kind::kPassesNothing:
        return configuration.swapped_modules.contains(change.module);
      default:
        return swapped(change.element);
    }
  });
  return changes;
}

States fitted_to(const Model& model, States states) {
  states.on.resize(model.branches.size(), 0);
  states.tripped.resize(model.branches.size(), 0);
  states.lamp_v.resize(model.branches.size(), 0.0);
  return states;
}

States starting_states(const Model& model) {
  if (model.stood) return fitted_to(model, *model.stood);
  States states;
  states.on.assign(model.branches.size(), 0);
  states.alive.assign(model.dead.size(), 0);
  states.tripped.assign(model.branches.size(), 0);
  states.lamp_v.assign(model.branches.size(), 0.0);
  for (std::size_t i = 0; i < model.branches.size(); ++i)
    if (model.branches[i].kind == ElementKind::kFuse) states.on[i] = 1;
  return states;
}

Law law_of(const Model& model, const States& states, std::size_t index) {
  const Branch& b = model.branches[index];
  if (b.source) return {0.0, 0.0, 1.0, b.inject_a};
  if (b.kind == ElementKind::kRail) {
    if (b.force == 0) return kOpenLaw;
    return states.alive[b.module.index()] != 0 ? Law{1.0, 0.0, -b.ohm, b.volt} : resistance(b.off_ohm);
  }
  if (!conducts_by_state(model, states, index)) return kOpenLaw;
  switch (b.kind) {
    case ElementKind::kSource:
      return {1.0, 0.0, -b.ohm, b.volt};
    case ElementKind::kDiode:
      return {1.0, 0.0, -b.ohm, b.volt};
    case ElementKind::kLamp:
      return lamp_law(b, states.lamp_v[index]);
    case ElementKind::kRatio:
      return {1.0, -b.share, -b.ohm, 0.0};
    default:
      return resistance(b.ohm);
  }
}

}  // namespace halfsplit::electrical
