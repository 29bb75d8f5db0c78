// SPDX-License-Identifier: Apache-2.0
// Getting from one set of setups to another: the cheapest legal way, its minutes and its steps.
// Lazy: only what is in the way is undone (with what depends on it), only what is needed is made (with what that
// needs). Undoing costs the same later, so this is never worse than tidying up early. SetupMoves is the fast form: sets
// and conditions become small numbers and every move is worked out once. It belongs to one caller (one thread) and
// holds copies of what it needs.
#pragma once

#include <array>
#include <cstdint>
#include <unordered_map>
#include <vector>

#include "plan/decide.h"
#include "plan/problem.h"

namespace halfsplit::plan {

// The set reached; `made` must be legal and `conditions` satisfiable.
[[nodiscard]] SetupSet lazy_target(const std::vector<Setup>& setups, const SetupSet& made,
                                   const Conditions& conditions);
// What it costs to go from one legal set to another.
[[nodiscard]] double move_minutes(const std::vector<Setup>& setups, const SetupSet& from, const SetupSet& to);
// The steps in a legal order: first what is undone, dependants first, then what is made, needs first.
[[nodiscard]] std::vector<SetupStep> move_steps(const std::vector<Setup>& setups, const SetupSet& from,
                                                const SetupSet& to);
// `needs` with everything those need in turn.
[[nodiscard]] SetupSet close_over_needs(const std::vector<Setup>& setups, const SetupSet& needs);
// Two members that exclude each other?
[[nodiscard]] bool has_conflict(const std::vector<Setup>& setups, const SetupSet& made);

using SetNumber = std::uint32_t;        // a set of setups met so far
using ConditionNumber = std::uint32_t;  // one of the conditions given to the constructor

class SetupMoves {
 public:
  struct Move {
    double minutes = 0.0;
    SetNumber to = 0;
  };

  // The same without a number for where it leads: for long chains of moves that are not met again.
  struct Reached {
    double minutes = 0.0;
    SetupSet to;
  };

  SetupMoves(const std::vector<Setup>& setups, const std::vector<Conditions>& conditions, bool undo_at_end);

  [[nodiscard]] SetNumber number_of(const SetupSet& made);
  [[nodiscard]] const SetupSet& set(SetNumber number) const { return sets_[number]; }
  // Minutes to undo everything when the job ends there; 0 when nothing has to be undone.
  [[nodiscard]] double end_minutes(SetNumber number) const { return end_minutes_[number]; }
  [[nodiscard]] Move move(SetNumber from, ConditionNumber condition) {
    const std::vector<Move>& row = moves_[from];
    return !row.empty() && row[condition].to != kUnknown ? row[condition] : work_out(from, condition);
  }
  // Everything that the condition needs, in turn too.
  [[nodiscard]] const SetupSet& wanted(ConditionNumber condition) const { return wanted_[condition]; }
  [[nodiscard]] Reached reach(const SetupSet& from, ConditionNumber condition) const;
  [[nodiscard]] double end_minutes(const SetupSet& made) const;

 private:
  static constexpr SetNumber kUnknown = 0xFFFFFFFFU;
  struct SetHash {
    std::size_t operator()(const SetupSet& set) const;
  };
  Move work_out(SetNumber from, ConditionNumber condition);

  std::vector<Setup> setups_;
  std::size_t condition_count_;
  bool undo_at_end_;
  std::vector<SetupSet> wanted_;   // by condition: needs, closed
  std::vector<SetupSet> blocked_;  // by condition: forbidden, or excluded by something wanted
  std::vector<SetupSet> sets_;
  std::vector<double> end_minutes_;
  std::vector<std::vector<Move>> moves_;  // [set][condition]; a row is made when first asked for
  std::unordered_map<SetupSet, SetNumber, SetHash> numbers_;
};

}  // namespace halfsplit::plan
