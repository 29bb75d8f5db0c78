// SPDX-License-Identifier: Apache-2.0
// The lazy move: wanted = needs closed over needs; kept = what is made, is not forbidden, is not excluded by anything
// wanted and still has all it needs; the target is both together. Its cost is per setup (undo what leaves, make what
// comes), so the order of the steps matters only for being legal: all undoing first, dependants before what they need,
// then all making.
#include "plan/setups.h"

#include <algorithm>

#include "base/check.h"

namespace halfsplit::plan {

namespace {

// Everything that excludes, or is excluded by, a member of `wanted`.
SetupSet excluded_by(const std::vector<Setup>& setups, const SetupSet& wanted) {
  SetupSet out;
  for (std::size_t i = 0; i < setups.size(); ++i) {
    if (wanted.contains(SetupId(i))) out = out | setups[i].excludes;
    if (setups[i].excludes.meets(wanted)) out.insert(SetupId(i));
  }
  return out;
}

SetupSet keep_what_can_stay(const std::vector<Setup>& setups, SetupSet kept, const SetupSet& wanted) {
  for (;;) {
    const SetupSet standing = kept | wanted;
    SetupSet loose;
    kept.for_each([&](SetupId s) {
      if (!standing.contains(setups[s.index()].needs)) loose.insert(s);
    });
    if (loose.empty()) return standing;
    kept = kept - loose;
  }
}

// Moves out of `waiting`, one at a time, the lowest member for which `ready` holds.
template <class Ready>
void take_in_order(SetupSet waiting, Ready ready, std::vector<SetupId>& order) {
  while (!waiting.empty()) {
    SetupId next;
    waiting.for_each([&](SetupId s) {
      if (next.is_none() && ready(s, waiting)) next = s;
    });
    HS_CHECK(!next.is_none(), "setups need each other in a circle");
    order.push_back(next);
    waiting.erase(next);
  }
}

}  // namespace

SetupSet close_over_needs(const std::vector<Setup>& setups, const SetupSet& needs) {
  SetupSet closed = needs;
  for (;;) {
    SetupSet more = closed;
    closed.for_each([&](SetupId s) { more = more | setups[s.index()].needs; });
    if (more == closed) return closed;
    closed = more;
  }
}

bool has_conflict(const std::vector<Setup>& setups, const SetupSet& made) {
  bool conflict = false;
  made.for_each([&](SetupId s) { conflict = conflict || setups[s.index()].excludes.meets(made); });
  return conflict;
}

SetupSet lazy_target(const std::vector<Setup>& setups, const SetupSet& made, const Conditions& conditions) {
  const SetupSet wanted = close_over_needs(setups, conditions.needs);
  return keep_what_can_stay(setups, made - conditions.forbids - excluded_by(setups, wanted), wanted);
}

double move_minutes(const std::vector<Setup>& setups, const SetupSet& from, const SetupSet& to) {
  double minutes = 0.0;
  (from - to).for_each([&](SetupId s) { minutes += setups[s.index()].undo_minutes; });
  (to - from).for_each([&](SetupId s) { minutes += setups[s.index()].do_minutes; });
  return minutes;
}

std::vector<SetupStep> move_steps(const std::vector<Setup>& setups, const SetupSet& from, const SetupSet& to) {
  std::vector<SetupId> undo;
  take_in_order(
      from - to,
      [&](SetupId s, const SetupSet& waiting) {
        bool needed = false;
        waiting.for_each([&](SetupId other) { needed = needed || setups[other.index()].needs.contains(s); });
        return !needed;
      },
      undo);
  std::vector<SetupId> make;
  take_in_order(
      to - from, [&](SetupId s, const SetupSet& waiting) { return !setups[s.index()].needs.meets(waiting); }, make);
  std::vector<SetupStep> steps;
  for (const SetupId s : undo) steps.push_back({s, false, setups[s.index()].undo_minutes});
  for (const SetupId s : make) steps.push_back({s, true, setups[s.index()].do_minutes});
  return steps;
}

std::size_t SetupMoves::SetHash::operator()(const SetupSet& set) const {
  std::uint64_t hash = 0x9E3779B97F4A7C15ULL;
  for (const std::uint64_t word : set.words()) hash = (hash ^ word ^ (hash >> 29U)) * 0xBF58476D1CE4E5B9ULL;
  return static_cast<std::size_t>(hash ^ (hash >> 32U));
}

SetupMoves::SetupMoves(const std::vector<Setup>& setups, const std::vector<Conditions>& conditions, bool undo_at_end)
    : setups_(setups), condition_count_(conditions.size()), undo_at_end_(undo_at_end) {
  for (const Conditions& condition : conditions) {
    wanted_.push_back(close_over_needs(setups_, condition.needs));
    blocked_.push_back(condition.forbids | excluded_by(setups_, wanted_.back()));
  }
}

SetNumber SetupMoves::number_of(const SetupSet& made) {
  const auto [at, is_new] = numbers_.try_emplace(made, static_cast<SetNumber>(sets_.size()));
  if (is_new) {
    sets_.push_back(made);
    end_minutes_.push_back(end_minutes(made));
    moves_.emplace_back();
  }
  return at->second;
}

double SetupMoves::end_minutes(const SetupSet& made) const {
  return undo_at_end_ ? move_minutes(setups_, made, SetupSet{}) : 0.0;
}

SetupMoves::Reached SetupMoves::reach(const SetupSet& from, ConditionNumber condition) const {
  const SetupSet& wanted = wanted_[condition];
  if (from.meets(blocked_[condition])) {
    const SetupSet to = keep_what_can_stay(setups_, from - blocked_[condition], wanted);
    return {move_minutes(setups_, from, to), to};
  }
  double minutes = 0.0;  // nothing is in the way
  (wanted - from).for_each([&](SetupId s) { minutes += setups_[s.index()].do_minutes; });
  return {minutes, from | wanted};
}

SetupMoves::Move SetupMoves::work_out(SetNumber from, ConditionNumber condition) {
  const Reached reached = reach(sets_[from], condition);
  const Move move{reached.minutes, number_of(reached.to)};
  if (moves_[from].empty()) moves_[from].resize(condition_count_, Move{0.0, kUnknown});
  moves_[from][condition] = move;
  return move;
}

}  // namespace halfsplit::plan
