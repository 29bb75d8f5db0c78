// SPDX-License-Identifier: Apache-2.0
// The planner against the sixteen instances of tests/data/planning: answers worked out by a separate exact program (see
// the README there). Greedy figures: the same source, computed by hand-written rules of its own.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <string>

#include "../support/planning_instance.h"
#include "../twins/plan_follow.h"
#include "plan/decide.h"
#include "plan/exact.h"
#include "plan/greedy.h"
#include "plan/tree.h"

namespace halfsplit {
namespace {

const std::string kFolder = "tests/data/planning/";  // tests run in the project's root

struct Instance {
  std::string file;
  plan::Problem problem;
  double optimum = 0.0;
  std::vector<std::string> first;
};

std::vector<Instance> all_instances() {
  std::vector<Instance> out;
  const test_support::OrderedJson expected = test_support::read_json(kFolder + "expected.json");
  for (const auto& [file, answer] : expected.items()) {
    out.push_back(
        {file, test_support::read_planning_instance(kFolder + file), answer.at("optimum"), answer.at("first")});
  }
  return out;
}

std::string name_of(const plan::Problem& problem, const plan::Action& action) {
  if (action.kind == plan::ActionKind::kStop) return "stop";
  return action.kind == plan::ActionKind::kTest ? problem.tests[action.index].name : problem.repairs[action.index].name;
}

bool may_start(const Instance& instance, const plan::Action& action) {
  const std::string name = name_of(instance.problem, action);
  return std::find(instance.first.begin(), instance.first.end(), name) != instance.first.end();
}

TEST(PlanningFacts, ThereAreSixteenAndAllAreValid) {
  const auto instances = all_instances();
  EXPECT_EQ(instances.size(), 16U);
  for (const Instance& instance : instances) EXPECT_TRUE(plan::validate(instance.problem).ok()) << instance.file;
}

TEST(PlanningFacts, ExactSearchFindsTheOptimumAndEveryFirstAction) {
  for (const Instance& instance : all_instances()) {
    SCOPED_TRACE(instance.file);
    const plan::ExactResult result = plan::solve_exact(instance.problem);
    ASSERT_TRUE(result.complete);
    EXPECT_NEAR(result.minutes, instance.optimum, 1e-6);
    std::vector<std::string> names;
    for (const plan::Action& action : result.first) names.push_back(name_of(instance.problem, action));
    std::vector<std::string> expected = instance.first;
    std::sort(names.begin(), names.end());
    std::sort(expected.begin(), expected.end());
    EXPECT_EQ(names, expected);
  }
}

TEST(PlanningFacts, DefaultStrategyIsOptimalAndKnowsIt) {
  for (const Instance& instance : all_instances()) {
    SCOPED_TRACE(instance.file);
    const plan::Decision decision = plan::decide(instance.problem);
    EXPECT_NEAR(decision.expected_minutes, instance.optimum, 1e-6);
    EXPECT_NEAR(decision.lower_bound, instance.optimum, 1e-6);
    EXPECT_TRUE(decision.exact);
    EXPECT_TRUE(may_start(instance, decision.action));
  }
}

// Without the exact search and with next to no work: the first wave of rollouts alone, followed to the end of every
// branch.
TEST(PlanningFacts, RolloutsAloneStayWithinThreePerCent) {
  plan::DecideOptions little;
  little.work_budget = 0;
  little.exact_states = 0;
  twins::PlanFollower follower([&](const plan::Problem& problem) { return plan::decide(problem, little); });
  for (const Instance& instance : all_instances()) {
    SCOPED_TRACE(instance.file);
    const plan::Decision decision = plan::decide(instance.problem, little);
    EXPECT_GE(decision.expected_minutes, instance.optimum - 1e-6);
    EXPECT_LE(decision.lower_bound, instance.optimum + 1e-6);
    const double followed = follower.follow(instance.problem);
    EXPECT_GE(followed, instance.optimum - 1e-6);
    EXPECT_LE(followed, 1.03 * instance.optimum + 1e-6);
  }
}

TEST(PlanningFacts, FollowingTheDecisionsCostsWhatTheyPromise) {
  twins::PlanFollower follower([](const plan::Problem& problem) { return plan::decide(problem); });
  for (const Instance& instance : all_instances()) {
    EXPECT_NEAR(follower.follow(instance.problem), instance.optimum, 1e-6) << instance.file;
  }
}

TEST(PlanningFacts, TreeOfTheDefaultStrategyHasTheSameCost) {
  plan::PlanOptions options;
  options.tree.min_probability = 0.0;
  for (const Instance& instance : all_instances()) {
    EXPECT_NEAR(plan::make_tree(instance.problem, options).expected_minutes, instance.optimum, 1e-6) << instance.file;
  }
}

// Most bits about the repair class per (setup minutes now + test minutes), ties to the first in the file.
TEST(PlanningFacts, GreedyBitsCostWhatTheyCostElsewhere) {
  const std::map<std::string, double> expected{
      {"s01-one-setup.json", 6.5},        {"s02-greedy-trap.json", 16.0},
      {"s04-excluding-setups.json", 4.0}, {"s09-nine-faults-three-places.json", 17.22},
      {"s10-already-isolated.json", 0.0}, {"published-test-matrix-5x6.json", 2.86},
      {"half-split-unequal.json", 3.0},   {"every-split-huffman.json", 2.28}};
  for (const auto& [file, minutes] : expected) {
    const plan::Problem problem = test_support::read_planning_instance(kFolder + file);
    const plan::Policy policy = [&problem = problem](const plan::Situation& here) {
      return plan::Choice{plan::choose_greedy(problem, here, plan::GreedyRule::kBits), 0.0, false};
    };
    const plan::PlanTree tree = plan::grow_tree(problem, plan::start_of(problem), policy, {0.0, 100'000});
    EXPECT_NEAR(tree.expected_minutes, minutes, 1e-6) << file;
  }
}

}  // namespace
}  // namespace halfsplit
