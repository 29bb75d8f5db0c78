// SPDX-License-Identifier: Apache-2.0
#include "electrical/states.h"

#include <cmath>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr double kVoltSlack = 1.0e-9;     // V: a diode this near its knee stays as it is
constexpr double kAmpereSlack = 1.0e-12;  // A
constexpr double kLampSlack = 1.0e-9;     // of the rated volts
constexpr double kIdleA = 1.0e-9;         // A: nothing

double across(const Branch& b, const Solution& s) { return s.volts(b.a) - s.volts(b.b); }
// For what compares volts with a threshold: a module whose ground is cut off has no supply, whatever its tie says.
double control_volts(const Branch& b, const Solution& s) { return s.between(b.c, b.d); }

// How far a diode is from where its state says it should be; 0 when it agrees.
double diode_error(const Branch& b, std::size_t index, const Solution& s, const States& states) {
  if (!b.connected || b.force == 0) return 0.0;
  if (states.on[index] != 0) {
    const double i = s.amperes(index);
    return i < -kAmpereSlack ? -i * (b.ohm + 1.0) : 0.0;
  }
  const double over = across(b, s) - b.volt;
  return over > kVoltSlack ? over : 0.0;
}

bool set(char& state, bool value) {
  if ((state != 0) == value) return false;
  state = value ? 1 : 0;
  return true;
}

bool driver_wanted(const Branch& b, const Solution& s, const States& states) {
  if (states.alive[b.module.index()] == 0) return false;
  if (b.commanded) return true;
  if (b.c.is_none()) return false;
  const double v = control_volts(b, s);
  return b.follows_below ? v < b.follows_v : v > b.follows_v;
}

}  // namespace

Stateful find_stateful(const Model& model) {
  Stateful found;
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    const Branch& b = model.branches[i];
    if (b.kind == ElementKind::kDiode || b.kind == ElementKind::kLamp) found.fast.push_back(i);
    if (b.kind == ElementKind::kRelayCoil || b.kind == ElementKind::kRatio || b.kind == ElementKind::kDriver)
      found.middle.push_back(i);
    if ((b.kind == ElementKind::kDriver && b.limit_a > 0.0) || b.kind == ElementKind::kFuse) found.last.push_back(i);
  }
  for (std::size_t m = 0; m < model.dead.size(); ++m) found.modules.emplace_back(m);
  return found;
}

bool move_fast(const Model& model, const Stateful& stateful, const Solution& solution, States& states,
               bool one_at_a_time) {
  bool moved = false;
  std::size_t worst = model.branches.size();
  double worst_error = 0.0;
  for (const std::size_t i : stateful.fast) {
    const Branch& b = model.branches[i];
    if (b.kind == ElementKind::kLamp) {
      const double v = across(b, solution);
      if (std::abs(v - states.lamp_v[i]) <= kLampSlack * b.volt) continue;
      // The current bends like a root: from a hot tangent a filament with hardly any feed would swing from v to -v and
      // back. From zero the steps come from one side.
      states.lamp_v[i] = v * states.lamp_v[i] < 0.0 ? 0.0 : v;
      moved = true;
      continue;
    }
    const double error = diode_error(b, i, solution, states);
    if (error <= 0.0) continue;
    moved = true;
    if (!one_at_a_time) {
      states.on[i] = states.on[i] != 0 ? 0 : 1;
    } else if (error > worst_error) {
      worst_error = error;
      worst = i;
    }
  }
  if (worst < model.branches.size()) states.on[worst] = states.on[worst] != 0 ? 0 : 1;
  return moved;
}

bool move_middle(const Model& model, const Stateful& stateful, const Solution& solution, States& states) {
  bool moved = false;
  for (const circuit::ModuleId id : stateful.modules) {
    const std::size_t m = id.index();
    const circuit::ModuleWiring& wiring = (*model.modules)[m];
    const double v = solution.between(wiring.supply, wiring.ground);
    const bool lives = model.dead[m] == kHeldAlive || (model.dead[m] == 0 && v >= wiring.alive_above_v);
    moved |= set(states.alive[m], lives);
  }
  for (const std::size_t i : stateful.middle) {
    const Branch& b = model.branches[i];
    switch (b.kind) {
      case ElementKind::kRelayCoil: {
        const double v = std::abs(solution.between(b.a, b.b));
        moved |= set(states.on[i], v >= (states.on[i] != 0 ? b.drop_out_v : b.volt) && b.force != 0);
        break;
      }
      case ElementKind::kRatio:
        moved |= set(states.on[i], b.volt <= 0.0 || control_volts(b, solution) >= b.volt);
        break;
      default:
        moved |= set(states.on[i], states.tripped[i] == 0 && driver_wanted(b, solution, states));
    }
  }
  return moved;
}

bool move_last(const Model& model, const Stateful& stateful, const Solution& solution, States& states) {
  std::size_t worst = model.branches.size();
  double worst_ratio = 1.0;
  bool worst_is_driver = false;
  for (const std::size_t i : stateful.last) {
    const Branch& b = model.branches[i];
    const bool driver = b.kind == ElementKind::kDriver;
    if (states.on[i] == 0 || b.force == 0 || (driver && b.force == 1)) continue;
    const double ratio = std::abs(solution.amperes(i)) / (driver ? b.limit_a : b.blow_a);
    const bool ahead = driver != worst_is_driver ? driver : ratio > worst_ratio;
    if (ratio > 1.0 && ahead) {
      worst = i;
      worst_ratio = ratio;
      worst_is_driver = driver;
    }
  }
  if (worst == model.branches.size()) return false;
  states.on[worst] = 0;
  if (worst_is_driver) states.tripped[worst] = 1;
  states.gone.emplace_back(worst, 0.0);
  return true;
}

bool is_idle_diode(const Model& model, const Solution& solution, const States& states, std::size_t branch) {
  const Branch& b = model.branches[branch];
  return b.kind == ElementKind::kDiode && b.force < 0 && states.on[branch] != 0 &&
         std::abs(solution.amperes(branch)) <= kIdleA;
}

bool stands_between(const Model& model, const Solution& solution, const States& states, std::size_t branch) {
  const Branch& b = model.branches[branch];
  if (b.kind != ElementKind::kRelayCoil || states.on[branch] != 0 || b.force == 0) return false;
  return solution.together(b.a, b.b) && std::abs(solution.volts(b.a) - solution.volts(b.b)) >= b.drop_out_v;
}

}  // namespace halfsplit::electrical
