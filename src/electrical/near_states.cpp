// SPDX-License-Identifier: Apache-2.0
#include "electrical/near_states.h"

#include <algorithm>
#include <cmath>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;
using fault::Change;
using Kind = StateRef::Kind;

bool of_module(const StateRef& ref) { return ref.kind == Kind::kModule; }

double threshold_of(const Model& model, const StateRef& ref) {
  if (of_module(ref)) return (*model.modules)[ref.index].alive_above_v;
  const Branch& b = model.branches[ref.index];
  switch (ref.kind) {
    case Kind::kFollows:
      return b.follows_v;
    case Kind::kLimit:
      return b.limit_a;
    case Kind::kFuse:
      return b.blow_a;
    default:
      return b.volt;  // a coil's pull-in, the supply a sensor needs
  }
}

bool is_contact_of(const Branch& b, std::size_t coil) {
  return b.kind == ElementKind::kRelayContact && b.control == coil && b.force < 0;
}

Change force(std::size_t branch, bool on) {
  return {Change::Kind::kForce, ElementId(branch), {}, {}, {}, on ? 1.0 : 0.0, 0.0};
}

}  // namespace

std::vector<StateRef> list_states(const Model& model) {
  std::vector<StateRef> all;
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    const Branch& b = model.branches[i];
    if (b.kind == ElementKind::kRelayCoil) all.push_back({Kind::kCoil, i});
    if (b.kind == ElementKind::kRatio) all.push_back({Kind::kRatio, i});
    if (b.kind == ElementKind::kDriver && !b.c.is_none()) all.push_back({Kind::kFollows, i});
    if (b.kind == ElementKind::kDriver && b.limit_a > 0.0) all.push_back({Kind::kLimit, i});
    if (b.kind == ElementKind::kFuse) all.push_back({Kind::kFuse, i});
  }
  for (std::size_t m = 0; m < model.dead.size(); ++m) all.push_back({Kind::kModule, m});
  std::sort(all.begin(), all.end());
  return all;
}

bool can_move(const Model& model, const States& states, const StateRef& ref) {
  if (of_module(ref)) return model.dead[ref.index] == 0;
  const Branch& b = model.branches[ref.index];
  switch (ref.kind) {
    case Kind::kCoil:
      return b.force != 0;
    case Kind::kFollows:
      return b.force < 0 && !b.commanded && states.tripped[ref.index] == 0 && states.alive[b.module.index()] != 0;
    case Kind::kRatio:
      return b.force < 0 && b.connected && b.volt > 0.0;  // else it is on whatever it has
    case Kind::kLimit:
      return b.force < 0 && (states.on[ref.index] != 0 || states.tripped[ref.index] != 0);
    default:
      return b.force < 0 && b.connected;
  }
}

bool stands_on(const States& states, const StateRef& ref) {
  return of_module(ref) ? states.alive[ref.index] != 0 : states.on[ref.index] != 0;
}

bool starts_on(const StateRef& ref) { return ref.kind == Kind::kLimit || ref.kind == Kind::kFuse; }

Quantity quantity_of(const Model& model, const StateRef& ref) {
  if (of_module(ref)) return {(*model.modules)[ref.index].supply, (*model.modules)[ref.index].ground, 0, false};
  const Branch& b = model.branches[ref.index];
  if (starts_on(ref)) return {{}, {}, ref.index, true};
  return ref.kind == Kind::kCoil ? Quantity{b.a, b.b, 0, false} : Quantity{b.c, b.d, 0, false};
}

double value_of(const Model& model, const Solution& solution, const StateRef& ref) {
  const Quantity q = quantity_of(model, ref);
  if (q.current) return std::abs(solution.amperes(q.branch));
  const double volt = solution.together(q.red, q.black) ? solution.volts(q.red) - solution.volts(q.black) : 0.0;
  return ref.kind == Kind::kCoil ? std::abs(volt) : volt;
}

double sigmas_when_gone(const States& states, std::size_t branch) {
  const auto last =
      std::find_if(states.gone.rbegin(), states.gone.rend(), [&](const auto& entry) { return entry.first == branch; });
  return last == states.gone.rend() ? 0.0 : last->second;
}

double margin_to_move(const Model& model, const StateRef& ref, double value) {
  const double over = value - threshold_of(model, ref);
  return ref.kind == Kind::kFollows && model.branches[ref.index].follows_below ? -over : over;
}

double margin_to_stay(const Model& model, const StateRef& ref, double value) {
  if (ref.kind == Kind::kCoil) return value - model.branches[ref.index].drop_out_v;
  return margin_to_move(model, ref, value);
}

namespace {

// `way`: how much of the way to its threshold is left.
bool is_within(const Model& model, const States& states, const Solution& solution, const StateRef& ref, double way) {
  if (!can_move(model, states, ref)) return false;
  const bool moved = stands_on(states, ref) != starts_on(ref);
  if (moved && starts_on(ref)) return true;  // switched off for good: what it carried is not seen any more
  const double value = value_of(model, solution, ref);
  const double margin = margin_to_move(model, ref, value);
  if (moved && margin < 0.0) return true;
  const double threshold = threshold_of(model, ref);
  const double there = threshold + way * (value - threshold);
  return way * std::abs(margin) <= kNearShare * std::max(std::abs(there), threshold);
}

}  // namespace

bool may_be_near(const Model& model, const States& states, const Solution& solution, const StateRef& ref) {
  return is_within(model, states, solution, ref, 1.0);
}

bool may_come_near(const Model& model, const States& states, const Solution& solution, const StateRef& ref) {
  return is_within(model, states, solution, ref, 0.5);
}

std::vector<Change> holding(const Model& model, const StateRef& ref, bool on) {
  if (of_module(ref)) return {{Change::Kind::kDead, {}, {}, {}, circuit::ModuleId(ref.index), on ? 1.0 : 0.0, 0.0}};
  if (ref.kind != Kind::kCoil) return {force(ref.index, on)};
  std::vector<Change> changes;
  for (std::size_t i = 0; i < model.branches.size(); ++i)
    if (is_contact_of(model.branches[i], ref.index))
      changes.push_back(force(i, on != model.branches[i].normally_closed));
  return changes;
}

bool has_print(ElementKind kind) {
  return kind == ElementKind::kRelayCoil || kind == ElementKind::kRatio || kind == ElementKind::kDriver ||
         kind == ElementKind::kFuse;
}

// Multiplicative hashing (Knuth, "The Art of Computer Programming", vol. 3, 6.4; constant from memory).
std::uint32_t print_of(const StateRef& ref) {
  const std::uint64_t key = (static_cast<std::uint64_t>(ref.index) << 1U | (of_module(ref) ? 1U : 0U)) + 1U;
  return static_cast<std::uint32_t>((key * 0x9E3779B97F4A7C15ULL) >> 32U) | 1U;
}

}  // namespace halfsplit::electrical
