// SPDX-License-Identifier: Apache-2.0
#include "plan/survey.h"

#include <gtest/gtest.h>

#include "plan/hand_problems.h"
#include "plan/random_problems.h"

namespace halfsplit::plan {
namespace {

using hand::set_of;

struct Bench {
  explicit Bench(const Problem& problem)
      : model(make_model(problem)), survey(model, problem.initial_setups), start(start_at(survey, start_of(problem))) {
    around = survey.glance(start.belief, start.made);
    survey.list(start.belief, start.made, start.tests, around, steps);
  }
  Model model;
  Survey survey;
  Start start;
  Surroundings around;
  std::vector<Step> steps;
};

// Fault 0 (0.25) is mended under the cab (up 6, down 4) in 10, fault 1 anywhere in 20; the test is under the cab.
Problem two_places_apart() {
  Problem problem = hand::with_faults(Goal::kRepair, {0.25, 0.75});
  problem.setups = {{"cab up", 6.0, 4.0, {}, {}}};
  const Conditions under{set_of({0}), {}};
  problem.tests = {hand::sure_test("t", 1.0, {0, 1}, under)};
  hand::add_own_repairs(problem, {10.0, 20.0});
  problem.repairs[0].conditions = under;
  problem.check.minutes = 2.0;
  return problem;
}

TEST(Survey, WasteIsWhatAStepAddsToTheUnavoidable) {
  Bench bench(two_places_apart());
  EXPECT_NEAR(bench.around.unavoidable, 0.25 * 22.0 + 0.75 * 22.0, 1e-12);
  ASSERT_EQ(bench.steps.size(), 3U);
  // The test: its minute, and the cab's round trip for fault 1 alone.
  EXPECT_NEAR(bench.steps[0].minutes, 7.0, 1e-12);
  EXPECT_NEAR(bench.steps[0].waste, 1.0 + 0.75 * 10.0, 1e-12);
  // Mending fault 0 in vain: the repair, the check and the cab.
  EXPECT_NEAR(bench.steps[1].waste, 0.75 * (10.0 + 2.0 + 10.0), 1e-12);
  EXPECT_NEAR(bench.steps[2].waste, 0.25 * (20.0 + 2.0), 1e-12);
}

TEST(Survey, OnlyWhatTellsOrMendsIsListed) {
  Problem problem = two_places_apart();
  problem.tests.push_back(hand::sure_test("idle", 1.0, {0, 0}));
  problem.repairs.push_back({"for nothing", {}, 1.0, 0.0, {}});
  Bench bench(problem);
  EXPECT_EQ(bench.steps.size(), 3U);
}

TEST(Survey, AnIsolatedFaultEndsTheJob) {
  Problem problem = hand::one_panel();
  problem.repairs.push_back({"all", {FaultId(0), FaultId(1), FaultId(2)}, 0.0, 0.0, {}});
  Bench bench(problem);
  EXPECT_TRUE(bench.around.ended);
  EXPECT_TRUE(bench.steps.empty());
}

// Wastes along a chain of failing repairs and the last, right one: what the chain costs above the unavoidable.
TEST(Survey, WastesAddUpToTheCostAboveTheUnavoidable) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    Problem problem = made_up::make_random_problem(seed);
    if (problem.goal != Goal::kRepair) continue;
    Bench bench(problem);
    const double unavoidable = bench.around.unavoidable;
    double cost = 0.0;
    double waste = 0.0;
    Belief belief = bench.start.belief;
    SetNumber made = bench.start.made;
    while (belief.count > 0) {
      const Surroundings around = bench.survey.glance(belief, made);
      bench.survey.list(belief, made, {}, around, bench.steps);
      const Step step = bench.steps.back();
      const Belief rest = bench.survey.stack().push_unmended(belief, step.index);
      waste += step.waste;
      cost += belief.mass * step.minutes + (belief.mass - rest.mass) * bench.survey.moves().end_minutes(step.to);
      belief = rest;
      made = step.to;
    }
    EXPECT_NEAR(cost, unavoidable + waste, 1e-9);
  }
}

}  // namespace
}  // namespace halfsplit::plan
