// SPDX-License-Identifier: Apache-2.0
// The one entry the app calls: what to do next, what it will cost to the end of the job, and how good that is.
// Minutes throughout. Deterministic: effort is counted in looks (lookahead.h), never read from a clock. The problem
// must be valid (problem.h); an invalid one is a bug. Small problems are solved exactly (exact.h), others by lookahead
// (lookahead.h).
#pragma once

#include <cstddef>
#include <limits>
#include <vector>

#include "base/cancel.h"
#include "plan/problem.h"

namespace halfsplit::plan {

enum class ActionKind { kTest, kRepair, kStop };

struct Action {
  ActionKind kind = ActionKind::kStop;
  std::size_t index = 0;  // into Problem::tests or Problem::repairs; 0 for kStop
  [[nodiscard]] TestId test() const { return TestId(index); }
  [[nodiscard]] RepairId repair() const { return RepairId(index); }
  friend bool operator==(const Action&, const Action&) = default;
};

struct SetupStep {
  SetupId setup;
  bool make = true;  // false: undo it
  double minutes = 0.0;
  friend bool operator==(const SetupStep&, const SetupStep&) = default;
};

// One way to start, for "why this one".
struct Candidate {
  Action action;
  double expected_minutes = 0.0;  // to the end when starting with it: of a plan that was found, so never too low
  double lower_bound = 0.0;       // no plan that starts with it is cheaper
};

struct Decision {
  Action action;
  double expected_minutes = 0.0;  // of a plan found that starts with it; never below the best possible plan
  double lower_bound = 0.0;       // no plan at all is cheaper
  bool exact = false;             // proved: no plan is cheaper (to 1e-9)
  // Goal kIsolate: no test tells the faults left apart; the action is kStop.
  bool unresolved = false;
  bool none_fits = false;  // neither the action nor any test fits into DecideOptions::first_minutes
  // To make and undo before the action, in order; kStop: what is undone at the end.
  std::vector<SetupStep> steps;
  double setup_minutes = 0.0;   // of the steps
  double action_minutes = 0.0;  // of the action itself with its extra
  // kRepair: between the repair and its check; the minutes are of those steps and the check.
  std::vector<SetupStep> proof_steps;
  double proof_minutes = 0.0;
  std::vector<Candidate> candidates;  // the action first, then the others, cheapest first
  std::size_t work = 0;               // looks spent

  // "At most this far above the best possible plan": 0.03 is 3 %. Infinite when nothing is known (lower_bound 0).
  [[nodiscard]] double gap() const {
    if (exact || expected_minutes <= lower_bound) return 0.0;
    return lower_bound > 0.0 ? expected_minutes / lower_bound - 1.0 : std::numeric_limits<double>::infinity();
  }
};

struct DecideOptions {
  // Looks (lookahead.h); more is better and slower. Large problems may exceed it a little: two ways to start are always
  // tried.
  std::size_t work_budget = 150'000;
  // States the exact search may visit within the budget; 0: the best plan is proved only by bounds that meet.
  std::size_t exact_states = 20'000;
  std::size_t shown_candidates = 8;  // at most so many in Decision::candidates
  // Minutes that are left: where the best way to start takes longer, the best test that does not is the action, and
  // ways that take longer are no candidates; where no test fits either, none_fits.
  double first_minutes = std::numeric_limits<double>::infinity();
  base::CancelToken cancel;  // when set: the best found so far
};

[[nodiscard]] Decision decide(const Problem& problem, const DecideOptions& options = {});

}  // namespace halfsplit::plan
