// SPDX-License-Identifier: Apache-2.0
// The sixteen instances with outside answers are in tests/planning, the slow twin in tests/twins.
#include "plan/exact.h"

#include <gtest/gtest.h>

#include <string>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

const Action kFirstTest{ActionKind::kTest, 0};

TEST(Exact, SolvesWhatIsSolvedOnPaper) {
  const ExactResult panel = solve_exact(hand::one_panel());
  EXPECT_TRUE(panel.complete);
  EXPECT_NEAR(panel.minutes, 6.5, 1e-12);
  EXPECT_EQ(panel.first, std::vector<Action>{kFirstTest});
  const ExactResult noisy = solve_exact(hand::nine_in_ten());
  EXPECT_NEAR(noisy.minutes, 18.6, 1e-12);
  EXPECT_EQ(noisy.first, std::vector<Action>{kFirstTest});
}

TEST(Exact, NamesEveryActionThatStartsABestPlan) {
  const ExactResult trap = solve_exact(hand::greedy_trap());
  EXPECT_NEAR(trap.minutes, 12.0, 1e-12);
  EXPECT_EQ(trap.first, (std::vector<Action>{{ActionKind::kTest, 1}, {ActionKind::kTest, 2}}));
}

// A test of the same kind is left out of the search, but as a first step it is as good.
TEST(Exact, NamesEqualTestsToo) {
  Problem problem = hand::one_panel();
  problem.tests.push_back(problem.tests[0]);
  EXPECT_EQ(solve_exact(problem).first, (std::vector<Action>{kFirstTest, {ActionKind::kTest, 3}}));
}

TEST(Exact, RepairsByFallingProbabilityOverCost) {
  const Problem problem = hand::repairs_only();
  EXPECT_NEAR(solve_exact(problem).minutes, 19.9, 1e-12);
  Situation here = start_of(problem);
  std::string order;
  for (int i = 0; i < 4; ++i) {
    const Action next = solve_exact(problem, here).first.front();
    order += static_cast<char>('A' + next.index);
    here = after(problem, here, next, kNotMended);
  }
  EXPECT_EQ(order, "DBCA");
}

TEST(Exact, StartsFromTheSetupsMade) {
  Problem problem = hand::one_panel();
  problem.initial_setups = hand::set_of({0});
  // The panel is open: both tests inside at 1 each (the second for the half left), closing 2.
  EXPECT_NEAR(solve_exact(problem).minutes, 1.0 + 0.5 * 1.0 + 2.0, 1e-12);
  problem.undo_at_end = false;
  EXPECT_NEAR(solve_exact(problem).minutes, 1.5, 1e-12);
}

TEST(Exact, StopsWhereNothingTellsMore) {
  Problem problem = hand::one_panel();
  problem.tests.resize(1);
  problem.initial_setups = hand::set_of({0});
  Situation here = after(problem, start_of(problem), kFirstTest, 1);
  here.made = problem.initial_setups;
  const ExactResult result = solve_exact(problem, here);
  EXPECT_EQ(result.first, std::vector<Action>{Action{}});
  EXPECT_NEAR(result.minutes, 2.0, 1e-12);
}

TEST(Exact, AKnownPlanNarrowsTheSearchButNotTheAnswer) {
  ExactOptions options;
  options.known_minutes = 12.0;
  const ExactResult result = solve_exact(hand::greedy_trap(), options);
  EXPECT_NEAR(result.minutes, 12.0, 1e-9);
  EXPECT_EQ(result.first.size(), 2U);
}

TEST(Exact, GivesUpWhenToldTo) {
  ExactOptions few;
  few.max_states = 2;
  EXPECT_FALSE(solve_exact(hand::repairs_only(), few).complete);
  ExactOptions cancelled;
  cancelled.cancel.cancel();
  EXPECT_FALSE(solve_exact(hand::repairs_only(), cancelled).complete);
}

}  // namespace
}  // namespace halfsplit::plan
