// SPDX-License-Identifier: Apache-2.0
// Which states a fault has moved, and which stand near where they would move. Only states that the fault can move need
// be looked at (watches.h), and those within twice the distance at rest: the others have moved by less than half of
// their margin.
#include <algorithm>
#include <optional>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

std::optional<StateRef> ref_of(const Model& model, const Watch& watch) {
  if (watch.kind == Watch::Kind::kModule) return StateRef{StateRef::Kind::kModule, watch.index};
  if (watch.kind == Watch::Kind::kFast) return std::nullopt;
  const ElementKind kind = model.branches[watch.index].kind;
  if (watch.kind == Watch::Kind::kLast)
    return StateRef{kind == ElementKind::kDriver ? StateRef::Kind::kLimit : StateRef::Kind::kFuse, watch.index};
  if (kind == ElementKind::kRelayCoil) return StateRef{StateRef::Kind::kCoil, watch.index};
  return StateRef{kind == ElementKind::kRatio ? StateRef::Kind::kRatio : StateRef::Kind::kFollows, watch.index};
}

}  // namespace

void FaultBench::list_near_at_rest() {
  for (const Watch& watch : rest_.watches().all())
    if (const std::optional<StateRef> ref = ref_of(model_, watch))
      if (may_come_near(model_, rest_.point().states, rest_.point(), *ref)) near_at_rest_.push_back(*ref);
}

std::vector<StateRef> FaultBench::near_states() {
  if (own_) return own_->near_states();
  if (fault_status_ != Status::kSettled) return {};
  prepare();
  std::vector<StateRef> refs = near_at_rest_;
  for (const std::uint32_t w : noted_watches_)
    if (const std::optional<StateRef> ref = ref_of(model_, rest_.watches()[w])) refs.push_back(*ref);
  const View view(*this);
  std::erase_if(refs, [&](const StateRef& ref) { return !may_be_near(model_, states_, view, ref); });
  std::sort(refs.begin(), refs.end());
  refs.erase(std::unique(refs.begin(), refs.end()), refs.end());
  return refs;
}

std::uint32_t FaultBench::print() const {
  const States& rest = rest_.point().states;
  const States& now = states();
  std::uint32_t print = 0;
  const auto look_at_module = [&](std::size_t m) {
    if (rest.alive[m] != now.alive[m]) print ^= print_of({StateRef::Kind::kModule, m});
  };
  const auto look_at_branch = [&](std::size_t i) {
    if (rest.on[i] != now.on[i] && has_print(model_.branches[i].kind)) print ^= print_of({StateRef::Kind::kFuse, i});
  };
  if (own_) {
    for (std::size_t i = 0; i < base_branches_; ++i) look_at_branch(i);
    for (std::size_t m = 0; m < rest.alive.size(); ++m) look_at_module(m);
    return print;
  }
  for (const circuit::ModuleId m : near_.modules) look_at_module(m.index());
  for (const std::size_t i : noted_branches_) look_at_branch(i);
  return print;
}

}  // namespace halfsplit::electrical
