// SPDX-License-Identifier: Apache-2.0
// Filaments, of which a whole vehicle has hundreds on the same posts. One that a change hardly moves keeps its tangent
// at rest. Where many are moved together - a short pulls every lit lamp down until its fuse melts - an update for each
// would be a large system for what is one movement, that of the posts. Their tangents at rest stand then, and what the
// curve gives more or less is put in as a source and found by going round (the chord method), with Anderson's
// correction of depth one
// ("Iterative procedures for nonlinear integral equations", J. ACM 12, 1965), which ends a single movement in a few
// steps. When all rests, each that still stands elsewhere gets its tangent there, as an update.
#include <algorithm>
#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

// Of the rated volts: a filament at work then has its current wrong by 1e-6 of itself, a cold one by less than a meter
// shows.
constexpr double kStillLamp = 3.0e-3;
constexpr double kStillColdLamp = 1.0e-6;
constexpr double kLit = 0.05;              // of the rated volts; below that a tangent says nothing of the next volt
constexpr double kDim = 0.4;               // of its volts at rest
constexpr std::size_t kFewFilaments = 12;  // moved together: more are carried
constexpr int kCarriedRounds = 40;
constexpr double kCarriedSlack = 1.0e-9;  // of the rated volts, as states.cpp has it

}  // namespace

bool FaultBench::is_patched(std::size_t branch) const {
  return std::any_of(saved_.begin(), saved_.end(), [&](const auto& entry) { return entry.first == branch; });
}

bool FaultBench::is_lamp(std::uint32_t watch) const {
  const Watch& w = rest_.watches()[watch];
  return w.kind == Watch::Kind::kFast && model_.branches[w.index].kind == ElementKind::kLamp;
}

double FaultBench::still_volts(std::uint32_t lamp) const {
  const std::size_t i = rest_.watches()[lamp].index;
  const double rated = model_.branches[i].volt;
  return (std::abs(states_.lamp_v[i]) > kLit * rated ? kStillLamp : kStillColdLamp) * rated;
}

// A filament that hardly moves keeps its tangent. True when more are carried than before.
bool FaultBench::wake_lamps() {
  std::vector<std::uint32_t> woken;
  std::erase_if(still_lamps_, [&](std::uint32_t w) {
    const std::size_t i = rest_.watches()[w].index;
    if (!is_patched(i) && std::abs(rest_.watches().shift(w, sum_)) <= still_volts(w)) return false;
    woken.push_back(w);
    return true;
  });
  const std::size_t carried = carried_.size();
  const bool many = may_carry_ && (carried > 0 || woken.size() > kFewFilaments);
  for (const std::uint32_t w : woken) {
    const std::size_t i = rest_.watches()[w].index;
    const bool lit = std::abs(states_.lamp_v[i]) > kLit * model_.branches[i].volt;
    if (many && lit && !is_patched(i))
      carried_.push_back({w, i, states_.lamp_v[i], 0.0});
    else
      near_.fast.push_back(i);
  }
  return carried_.size() > carried;
}

double FaultBench::volts_across(std::size_t branch) const {
  const View view(*this);
  return view.volts(model_.branches[branch].a) - view.volts(model_.branches[branch].b);
}

void FaultBench::lay_out_carried() {
  carried_sum_.clear();
  for (const Carried& c : carried_) carried_sum_.add(rest_.row(c.branch).left, c.source);
}

// True when one stands elsewhere than it did. One that has lost most of its volts is not moved with the others, and its
// tangent at rest leads nowhere: it goes.
bool FaultBench::look_at_carried() {
  bool moved = false;
  for (Carried& c : carried_) {
    const double v = volts_across(c.branch);
    moved = moved || std::abs(v - c.volts) > kCarriedSlack * model_.branches[c.branch].volt;
    c.volts = v;
  }
  const auto is_dim = [&](const Carried& c) { return c.volts / states_.lamp_v[c.branch] < kDim; };
  for (const Carried& c : carried_)
    if (is_dim(c)) near_.fast.push_back(c.branch);
  return std::erase_if(carried_, is_dim) > 0 || moved;
}

// To where each stands on its curve.
bool FaultBench::follow_carried() {
  Vector lack, lack_before, goal_before;
  for (int round = 0; round < kCarriedRounds; ++round) {
    if (!look_at_carried()) return true;
    if (goal_before.size() != carried_.size()) {
      lack_before.clear();
      goal_before.clear();
    }
    Vector goal;
    for (const Carried& c : carried_) {
      const Law& law = rest_.point().laws[c.branch];
      goal.push_back(law.alpha * c.volts - lamp_current(model_.branches[c.branch], c.volts) - law.gamma);
    }
    lack.clear();
    double along = 0.0, length = 0.0;
    for (std::size_t i = 0; i < goal.size(); ++i) {
      lack.push_back(goal[i] - carried_[i].source);
      if (lack_before.empty()) continue;
      const double step = lack[i] - lack_before[i];
      along += lack[i] * step;
      length += step * step;
    }
    const double back = length > 0.0 ? along / length : 0.0;
    for (std::size_t i = 0; i < goal.size(); ++i)
      carried_[i].source = goal[i] - (goal_before.empty() ? 0.0 : back * (goal[i] - goal_before[i]));
    lack_before = lack;
    goal_before = std::move(goal);
    lay_out_carried();
    if (!solve_coefficients()) return false;
    sum_up();
  }
  return false;
}

// When all rests: one that came back keeps its tangent at rest, another gets one where it stands.
bool FaultBench::set_down() {
  for (const Carried& c : carried_) {
    if (std::abs(rest_.watches().shift(c.watch, sum_)) <= still_volts(c.watch)) {
      still_lamps_.push_back(c.watch);
      continue;
    }
    near_.fast.push_back(c.branch);
    states_.lamp_v[c.branch] = c.volts;
  }
  carried_.clear();
  carried_sum_.clear();
  solved_.clear();
  return settle_fast();
}

// As if none had been carried.
void FaultBench::hand_over_carried() {
  for (const Carried& c : carried_) near_.fast.push_back(c.branch);
  carried_.clear();
  carried_sum_.clear();
  solved_.clear();
}

}  // namespace halfsplit::electrical
