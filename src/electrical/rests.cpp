// SPDX-License-Identifier: Apache-2.0
// A start is a set of states; the solver goes on from it as it does from power-up. To see the single rounds of a
// circuit that goes round, the states are frozen one round at a time: thresholds moved out of reach, so that a solve
// settles diodes and filaments only.
#include "electrical/rests.h"

#include <algorithm>
#include <limits>
#include <map>
#include <set>

#include "electrical/latches.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr std::size_t kMostRounds = 200;

bool moves(const Branch& b) {
  return b.kind == ElementKind::kRelayCoil || b.kind == ElementKind::kRatio || b.kind == ElementKind::kDriver;
}

bool same_history(const Model& model, const States& one, const States& other) {
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    if (one.tripped[i] != other.tripped[i]) return false;
    if (model.branches[i].kind == ElementKind::kFuse && one.on[i] != other.on[i]) return false;
  }
  return true;
}

bool may_be_on(const Model& model, const States& states, std::size_t i) {
  const Branch& b = model.branches[i];
  if (b.kind != ElementKind::kDriver) return b.force != 0;
  return states.tripped[i] == 0 && (b.commanded || !b.c.is_none()) && model.dead[b.module.index()] == 0;
}

// A module takes its drivers with it.
States module_turned(const Model& model, States states, std::size_t m) {
  states.alive[m] = states.alive[m] == 0 && model.dead[m] == 0 ? 1 : 0;
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    const Branch& b = model.branches[i];
    if (b.kind == ElementKind::kDriver && b.module.index() == m)
      states.on[i] = states.alive[m] != 0 && may_be_on(model, states, i) ? 1 : 0;
  }
  return states;
}

bool may_hold(const Model& model, Latches& latches, const OperatingPoint& point, std::size_t i) {
  switch (model.branches[i].kind) {
    case ElementKind::kRelayCoil:
      return latches.coil_may_hold(i) || stands_between(model, point, point.states, i);
    case ElementKind::kDriver:
      return latches.driver_may_hold(i);
    default:
      return false;
  }
}

Moving find_holders(const Model& model, const OperatingPoint& point) {
  Latches latches(model);
  Moving holders;
  for (std::size_t i = 0; i < model.branches.size(); ++i)
    if (may_hold(model, latches, point, i) && may_be_on(model, point.states, i)) holders.branches.push_back(i);
  for (std::size_t m = 0; m < model.dead.size(); ++m)
    if (model.dead[m] == 0 && latches.module_may_hold(m)) holders.modules.emplace_back(m);
  return holders;
}

// All of them on first, then each alone turned over.
std::vector<States> turned_over(const Model& model, const Moving& holders, const States& from, std::size_t most) {
  std::vector<States> all{from};
  for (const circuit::ModuleId m : holders.modules)
    if (all.front().alive[m.index()] == 0) all.front() = module_turned(model, all.front(), m.index());
  for (const std::size_t i : holders.branches) all.front().on[i] = 1;
  for (const std::size_t i : holders.branches) {
    if (all.size() > most) return all;
    all.push_back(from);
    all.back().on[i] = from.on[i] == 0 ? 1 : 0;
  }
  for (const circuit::ModuleId m : holders.modules)
    if (all.size() <= most) all.push_back(module_turned(model, from, m.index()));
  return all;
}

// The circuit with its coils, sensors, drivers and modules held as they stand.
class Frozen {
 public:
  explicit Frozen(const Model& model) : model_(model), modules_(*model.modules) {}

  OperatingPoint solve(const States& states) {
    Model held = model_;
    held.modules = &modules_;
    for (std::size_t m = 0; m < modules_.size(); ++m) {
      held.dead[m] = states.alive[m] != 0 ? 0 : 1;
      modules_[m].alive_above_v = -kNever;
    }
    for (std::size_t i = 0; i < held.branches.size(); ++i) hold(held.branches[i], states.on[i] != 0);
    return solve_operating_point(held, states);
  }

 private:
  static void hold(Branch& b, bool on) {
    b.limit_a = 0.0;
    b.blow_a = kNever;
    switch (b.kind) {
      case ElementKind::kRelayCoil:
        b.volt = kNever;
        b.drop_out_v = -kNever;
        return;
      case ElementKind::kRatio:
        b.volt = on ? -kNever : kNever;
        return;
      case ElementKind::kDriver:
        b.commanded = on;
        b.c = {};
        return;
      default:
        return;
    }
  }

  const Model& model_;
  std::vector<circuit::ModuleWiring> modules_;
};

std::vector<char> key_of(const States& states) {
  std::vector<char> key = states.on;
  key.insert(key.end(), states.alive.begin(), states.alive.end());
  return key;
}

// All that differs from the first round of a circle in any other.
Moving changing(const Model& model, const std::vector<States>& rounds, std::size_t first) {
  std::set<std::size_t> branches;
  std::set<circuit::ModuleId> modules;
  for (std::size_t i = first + 1; i < rounds.size(); ++i) {
    const Moving some = find_differences(model, rounds[first], rounds[i]);
    branches.insert(some.branches.begin(), some.branches.end());
    modules.insert(some.modules.begin(), some.modules.end());
  }
  return {{branches.begin(), branches.end()}, {modules.begin(), modules.end()}};
}

}  // namespace

Moving find_differences(const Model& model, const States& one, const States& other) {
  Moving moving;
  const std::size_t branches = std::min({model.branches.size(), one.on.size(), other.on.size()});
  for (std::size_t i = 0; i < branches; ++i)
    if (moves(model.branches[i]) && one.on[i] != other.on[i]) moving.branches.push_back(i);
  for (std::size_t m = 0; m < one.alive.size(); ++m)
    if (one.alive[m] != other.alive[m]) moving.modules.emplace_back(m);
  return moving;
}

std::vector<OperatingPoint> find_other_rests(const Model& model, const OperatingPoint& first,
                                             const std::vector<States>& starts, std::size_t most_turned_over) {
  std::vector<OperatingPoint> found;
  if (first.status != Status::kSettled) return found;
  const Moving holders = find_holders(model, first);
  if (holders.empty()) return found;
  std::vector<States> all = turned_over(model, holders, first.states, most_turned_over);
  for (const States& start : starts) all.push_back(fitted_to(model, start));
  std::set<std::vector<char>> tried;
  for (States& start : all) {
    for (std::size_t i = 0; i < model.branches.size(); ++i)
      if (model.branches[i].kind == ElementKind::kFuse) start.on[i] = first.states.on[i];
    start.tripped = first.states.tripped;
    if (find_differences(model, start, first.states).empty() || !tried.insert(key_of(start)).second) continue;
    OperatingPoint rest = solve_operating_point(model, start);
    if (rest.status != Status::kSettled || !same_history(model, rest.states, first.states)) continue;
    const auto same = [&](const OperatingPoint& other) {
      return find_differences(model, rest.states, other.states).empty();
    };
    if (!same(first) && std::none_of(found.begin(), found.end(), same)) found.push_back(std::move(rest));
  }
  return found;
}

Moving find_buzzing(const Model& model, const OperatingPoint& unsettled) {
  if (unsettled.status != Status::kUnsettled) return {};
  const Stateful stateful = find_stateful(model);
  Frozen frozen(model);
  std::vector<States> rounds{unsettled.states};
  std::map<std::vector<char>, std::size_t> first_seen{{key_of(unsettled.states), 0}};
  while (rounds.size() < kMostRounds) {
    const OperatingPoint point = frozen.solve(rounds.back());
    if (point.status != Status::kSettled) return {};  // diodes or filaments find no rest: nothing with a name
    States next = point.states;
    if (!move_middle(model, stateful, point, next)) return {};
    const auto [at, fresh] = first_seen.try_emplace(key_of(next), rounds.size());
    if (!fresh) return changing(model, rounds, at->second);
    rounds.push_back(std::move(next));
  }
  return {};
}

}  // namespace halfsplit::electrical
