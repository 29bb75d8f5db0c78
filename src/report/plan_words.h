// SPDX-License-Identifier: Apache-2.0
// What the text, the drawing and the page of a plan say alike: the order and numbers of its steps, its sentences, and
// percentages that add up. Texts are free of control characters and line breaks, but not escaped.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "report/plan_sheet.h"

namespace halfsplit::report {

inline constexpr const char* kPlanTitle = "Plan";
inline constexpr const char* kPlanEmpty = "There is nothing to do: the plan has no step.";
inline constexpr const char* kPlanStatement =
    "Chances are reckoned from what is known so far and the drawing that was used; they are never a certainty, and the "
    "fault may be one that is not on this drawing. The vehicle maker's instructions and the local rules come first.";

// Steps (tests, repairs) are numbered from 1 in reading order: a step, then all that its first branch leads to, then
// its next branch. Ends and cuts have no number: they are told where they are reached.
struct PlanOutline {
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  std::vector<std::size_t> order;   // nodes, in reading order
  std::vector<std::size_t> number;  // of each node; 0: kEnd, kCut
  std::vector<std::size_t> parent;  // of each node; kNone: the start
  std::vector<std::size_t> branch;  // of the parent, that leads here
  std::vector<std::size_t> depth;   // branches from the start
};
// Throws base::Bug when the nodes are not a tree as PlanSheet says.
[[nodiscard]] PlanOutline outline_plan(const PlanSheet& sheet);

// Of all branches of a step, in whole percent: "54 %". Rounded together, so that they add up to what the chances add
// up to; "<1 %" and ">99 %" where that would say never or always (they count 0 and 100 in the sum).
[[nodiscard]] std::vector<std::string> branch_percents(const PlanSheetNode& node);

// "12 %", "0.3 %", "below 0.1 %": of a chance that stands alone.
[[nodiscard]] std::string share_words(double chance);
[[nodiscard]] std::string step_minutes(double minutes);  // "6 min", "less than 1 min", "1 h 5 min"

[[nodiscard]] std::string kind_words(const PlanSheetNode& node);           // "Test", "Repair"
[[nodiscard]] std::string in_turn(const std::vector<std::string>& steps);  // "cab-raised, then unplug J4"
[[nodiscard]] std::string proof_words(const PlanSheetNode& node);  // what to do after the repair, and what to look for
[[nodiscard]] std::string takes_words(const PlanSheetNode& node);  // this step's minutes, and those to the end
// "12 % of such jobs come here, after 22 min"
[[nodiscard]] std::string reached_words(const PlanSheetNode& node);
[[nodiscard]] std::string goal_words(const PlanSheetNode& node);  // of a kEnd or kCut: what is told instead of a step

[[nodiscard]] std::string plan_times(const PlanSheet& sheet);
[[nodiscard]] std::string plan_goodness(const PlanSheet& sheet);
[[nodiscard]] std::string plan_left_out(const PlanSheet& sheet);  // empty when nothing was cut

}  // namespace halfsplit::report
