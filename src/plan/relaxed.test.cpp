// SPDX-License-Identifier: Apache-2.0
#include "plan/relaxed.h"

#include <gtest/gtest.h>

#include <string>

#include "base/rng.h"
#include "plan/hand_problems.h"
#include "plan/random_problems.h"

namespace halfsplit::plan {
namespace {

constexpr std::size_t kPlenty = 100'000;

double bound_of(const Problem& problem, std::size_t work = kPlenty) {
  const Model model = make_model(problem);
  Survey survey(model, problem.initial_setups);
  const Start start = start_at(survey, start_of(problem));
  return RelaxedBound(model).value(start.belief, problem.initial_setups, start.tests, work);
}

TEST(Relaxed, IsTheBestPlanWhenReadingsAreCertain) {
  EXPECT_NEAR(bound_of(hand::one_panel()), 6.5, 1e-9);
  EXPECT_NEAR(bound_of(hand::greedy_trap()), 12.0, 1e-9);
  const Problem line = made_up::make_vehicle_problem(3, {12, 12, 3, 2, 0.0});
  EXPECT_NEAR(bound_of(line), solve_exact(line).minutes, 1e-9);
}

// Nine right readings in ten become ten: 1 + 0.5 * 11 + 0.5 * 21 = 17 instead of 18.6.
TEST(Relaxed, MisleadingReadingsBecomeCertain) { EXPECT_NEAR(bound_of(hand::nine_in_ten()), 17.0, 1e-9); }

TEST(Relaxed, LessWorkIsALowerBoundToo) {
  const Problem line = made_up::make_vehicle_problem(5, {24, 30, 4, 2, 0.02});
  const double best = bound_of(line);
  double before = 0.0;
  for (const std::size_t work : {0U, 200U, 2'000U, 20'000U}) {
    const double bound = bound_of(line, work);
    EXPECT_GE(bound, before - 1e-9);
    EXPECT_LE(bound, best + 1e-9);
    before = bound;
  }
}

// Rows that agree but for a little, as readings predicted from tolerances do: one kind each, with a leak.
Problem with_rows_that_nearly_agree(std::uint64_t seed) {
  base::Rng rng(seed);
  Problem problem = made_up::make_vehicle_problem(seed, {5, 5, 2, 2, 0.05});
  for (plan::Test& test : problem.tests) {
    for (std::size_t f = 0; f < problem.faults.size(); ++f) {
      const double shift = rng.uniform(-0.008, 0.008);
      test.table[2 * f] += shift;
      test.table[2 * f + 1] -= shift;
    }
    if (rng.chance(0.3)) test.minutes *= 0.05;  // cheap enough for leaks to matter
  }
  return problem;
}

TEST(Relaxed, NeverAboveTheBestPlan) {
  int solved = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const Problem problem = with_rows_that_nearly_agree(seed);
    ASSERT_TRUE(validate(problem).ok());
    ExactOptions options;
    options.max_states = 100'000;
    const ExactResult exact = solve_exact(problem, options);
    solved += exact.complete ? 1 : 0;
    EXPECT_TRUE(!exact.complete || bound_of(problem) <= exact.minutes + 1e-9) << "seed " << seed;
  }
  EXPECT_GE(solved, 30);
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const Problem problem = made_up::make_random_problem(seed, {2, 5, 4, 3, 0.8});
    EXPECT_LE(bound_of(problem), solve_exact(problem).minutes + 1e-9) << "seed " << seed;
  }
}

TEST(Relaxed, NearlyAgreeingRowsAreOneKind) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.4, 0.3, 0.3});
  problem.tests.push_back(hand::unsure_test("t", 1.0, {0.97, 0.96, 0.05}));
  hand::add_own_repairs(problem, {5.0, 6.0, 7.0});
  const Model relaxed = make_relaxed(make_model(problem));
  EXPECT_EQ(relaxed.tests[0].outcomes, 2U);
  EXPECT_NEAR(relaxed.leak[0], 0.01, 1e-12);
  EXPECT_NEAR(relaxed.leak[1], 0.01, 1e-12);
  EXPECT_EQ(relaxed.leak[2], 0.0);
  EXPECT_NEAR(relaxed.leak_minutes, 100.0, 1e-9);
  // Known: 0.4 * 5 + 0.3 * 6 + 0.3 * 7 = 5.9. The test first (1 minute); the kind of two mends fault 0 first, in vain
  // for 0.3 * 5 minutes unless it leaks: 5.9 + 1 + 0.99 * 1.5.
  EXPECT_NEAR(bound_of(problem), 8.385, 1e-9);
}

// Eight tests that nearly agree for both faults, but now and then one of them shows fault 0 for certain. Each is worth
// little, all together are not: what leaks may be caught again and again.
TEST(Relaxed, LeaksAddUp) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.5, 0.5});
  for (int t = 0; t < 8; ++t) problem.tests.push_back(hand::unsure_test("t" + std::to_string(t), 0.01, {0.985, 1.0}));
  hand::add_own_repairs(problem, {100.0, 100.0});
  const double best = solve_exact(problem).minutes;
  EXPECT_LT(best, 145.0);
  EXPECT_LE(bound_of(problem), best);
}

}  // namespace
}  // namespace halfsplit::plan
