// SPDX-License-Identifier: Apache-2.0
// The planner against its slow twin on random problems of two to four faults (setups that need, exclude and forbid,
// uncertain outcomes, shared repairs, setups made at the start). How near the default strategy comes: tests/planning.
#include <gtest/gtest.h>

#include "plan/exact.h"
#include "plan/random_problems.h"
#include "plan_every_history.h"

namespace halfsplit {
namespace {

constexpr std::uint64_t kProblems = 1'200;

TEST(PlanTwin, ExactSearchEqualsTryingEverything) {
  for (std::uint64_t seed = 1; seed <= kProblems; ++seed) {
    const plan::Problem problem = plan::made_up::make_random_problem(seed);
    ASSERT_TRUE(plan::validate(problem).ok()) << "seed " << seed;
    const plan::ExactResult result = plan::solve_exact(problem);
    ASSERT_TRUE(result.complete) << "seed " << seed;
    ASSERT_NEAR(result.minutes, twins::PlanEveryHistory(problem).best_minutes(), 1e-9) << "seed " << seed;
  }
}

}  // namespace
}  // namespace halfsplit
