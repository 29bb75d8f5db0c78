// SPDX-License-Identifier: Apache-2.0
// Where a job stands: the faults' weights now, what is left to do, which setups are made. A plain value over a Problem.
// Weights may have any scale; what is ruled out has 0.
#pragma once

#include <cstddef>
#include <vector>

#include "plan/decide.h"
#include "plan/problem.h"

namespace halfsplit::plan {

struct Situation {
  std::vector<double> weights;     // by fault
  std::vector<bool> tests_left;    // by test
  std::vector<bool> repairs_left;  // by repair
  SetupSet made;
};

// Outcomes of a repair; those of a test are numbered as in Test::outcomes.
inline constexpr std::size_t kMended = 0;
inline constexpr std::size_t kNotMended = 1;

[[nodiscard]] Situation start_of(const Problem& problem);
[[nodiscard]] std::size_t outcome_count(const Problem& problem, const Action& action);
// Probability of an outcome of a test or a repair here.
[[nodiscard]] double outcome_probability(const Problem& problem, const Situation& here, const Action& action,
                                         std::size_t outcome);
// After the action (with its setups, and a repair's check) gave the outcome; weights are not rescaled. Never for kStop,
// nor for kMended.
[[nodiscard]] Situation after(const Problem& problem, const Situation& here, const Action& action, std::size_t outcome);
// Minutes of the action: setups before it, itself with extras, for a repair the way to the check and the check.
[[nodiscard]] double minutes_of(const Problem& problem, const Situation& here, const Action& action);
// The action with its steps and minutes from here, as a decision with no plan behind it: expected minutes and bounds
// are 0, there are no candidates. For actions chosen by some other rule.
[[nodiscard]] Decision way_to(const Problem& problem, const Situation& here, const Action& action);
// Setups made right after the action (and its check).
[[nodiscard]] SetupSet setups_after(const Problem& problem, const SetupSet& made, const Action& action);
// Goal kIsolate: do all faults still possible belong to one repair (or are they one fault)?
[[nodiscard]] bool is_isolated(const Problem& problem, const Situation& here);

}  // namespace halfsplit::plan
