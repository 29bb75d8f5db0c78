// SPDX-License-Identifier: Apache-2.0
// The planner against its slow twin on random problems of two to four faults (setups that need, exclude and forbid,
// uncertain outcomes, shared repairs, setups made at the start), and the quality of the default strategy on them and on
// larger ones.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <functional>
#include <string>
#include <vector>

#include "plan/decide.h"
#include "plan/exact.h"
#include "plan/random_problems.h"
#include "plan_every_history.h"
#include "plan_follow.h"

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

struct Quality {
  double mean = 0.0;
  double of_99 = 0.0;
  double worst = 0.0;
};

Quality summarise(const char* what, std::vector<double> ratios) {
  std::sort(ratios.begin(), ratios.end());
  Quality quality;
  for (const double ratio : ratios) quality.mean += ratio / static_cast<double>(ratios.size());
  quality.of_99 = ratios[ratios.size() * 99 / 100];
  quality.worst = ratios.back();
  std::printf("  %s: true cost over optimum on %zu problems: mean %.5f, 99 in 100 %.4f, worst %.4f\n", what,
              ratios.size(), quality.mean, quality.of_99, quality.worst);
  return quality;
}

// The true cost of following decide() to the end of every branch, over the optimum; what each first decision claimed is
// checked.
std::vector<double> ratios_of(const plan::DecideOptions& options, std::uint64_t problems,
                              const std::function<plan::Problem(std::uint64_t)>& make) {
  std::vector<double> ratios;
  twins::PlanFollower follower([&](const plan::Problem& problem) { return plan::decide(problem, options); });
  for (std::uint64_t seed = 1; seed <= problems; ++seed) {
    const plan::Problem problem = make(seed);
    const plan::ExactResult best = plan::solve_exact(problem);
    const plan::Decision decision = plan::decide(problem, options);
    EXPECT_TRUE(best.complete);
    EXPECT_GE(decision.expected_minutes, best.minutes - 1e-9) << "seed " << seed;
    EXPECT_LE(decision.lower_bound, best.minutes + 1e-9) << "seed " << seed;
    EXPECT_TRUE(!decision.exact || decision.expected_minutes <= best.minutes + 1e-8) << "seed " << seed;
    const double followed = follower.follow(problem);
    EXPECT_GE(followed, best.minutes - 1e-9) << "seed " << seed;
    if (best.minutes > 0.0) ratios.push_back(followed / best.minutes);
  }
  return ratios;
}

plan::DecideOptions no_search() {
  plan::DecideOptions options;
  options.work_budget = 0;
  options.exact_states = 0;
  return options;
}

TEST(PlanQuality, DefaultStrategyOnSmallProblems) {
  const auto make = [](std::uint64_t seed) { return plan::made_up::make_random_problem(seed); };
  const Quality quality = summarise("default strategy, 2-4 faults", ratios_of({}, kProblems, make));
  EXPECT_LE(quality.worst, 1.0 + 1e-8);
}

TEST(PlanQuality, FirstWaveOfRolloutsOnSmallProblems) {
  const auto make = [](std::uint64_t seed) { return plan::made_up::make_random_problem(seed); };
  const Quality quality = summarise("first wave alone, 2-4 faults", ratios_of(no_search(), kProblems, make));
  EXPECT_LE(quality.mean, 1.03);
  EXPECT_LE(quality.of_99, 1.10);
}

// Twelve faults along a line through four places, twelve certain tests.
TEST(PlanQuality, FirstWaveOfRolloutsOnALine) {
  const auto make = [](std::uint64_t seed) { return plan::made_up::make_vehicle_problem(seed, {12, 12, 3, 2, 0.0}); };
  const Quality quality = summarise("first wave alone, 12 faults on a line", ratios_of(no_search(), 40, make));
  EXPECT_LE(quality.mean, 1.03);
  EXPECT_LE(quality.worst, 1.10);
}

// Six faults, six tests of which 3 readings in 100 mislead.
TEST(PlanQuality, FirstWaveOfRolloutsWithMisleadingReadings) {
  const auto make = [](std::uint64_t seed) { return plan::made_up::make_vehicle_problem(seed, {6, 6, 2, 2, 0.03}); };
  const Quality quality = summarise("first wave alone, misleading readings", ratios_of(no_search(), 12, make));
  EXPECT_LE(quality.mean, 1.03);
  EXPECT_LE(quality.worst, 1.10);
}

}  // namespace
}  // namespace halfsplit
