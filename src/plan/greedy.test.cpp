// SPDX-License-Identifier: Apache-2.0
#include "plan/greedy.h"

#include <gtest/gtest.h>

#include "plan/hand_problems.h"
#include "plan/tree.h"

namespace halfsplit::plan {
namespace {

double cost_of(const Problem& problem, GreedyRule rule) {
  const Policy policy = [&](const Situation& here) { return Choice{choose_greedy(problem, here, rule), 0.0, false}; };
  return grow_tree(problem, start_of(problem), policy, {0.0, 10'000}).expected_minutes;
}

TEST(Greedy, BitsPerMinuteWalksIntoTheTrap) {
  const Problem problem = hand::greedy_trap();
  EXPECT_EQ(choose_greedy(problem, start_of(problem), GreedyRule::kBits), (Action{ActionKind::kTest, 0}));
  EXPECT_NEAR(cost_of(problem, GreedyRule::kBits), 16.0, 1e-12);
}

TEST(Greedy, RepairsByProbabilityOverCost) {
  EXPECT_NEAR(cost_of(hand::repairs_only(), GreedyRule::kRepairs), 19.9, 1e-12);
  const Problem noisy = hand::nine_in_ten();
  EXPECT_EQ(choose_greedy(noisy, start_of(noisy), GreedyRule::kRepairs), (Action{ActionKind::kRepair, 0}));
  EXPECT_NEAR(cost_of(noisy, GreedyRule::kRepairs), 21.5, 1e-12);
}

// Two faults that share a repair: bits about the fault are worth nothing.
TEST(Greedy, EdgesAndBitsLookAtTheRepairNotTheFault) {
  Problem problem = hand::with_faults(Goal::kIsolate, {0.2, 0.2, 0.3, 0.3});
  problem.tests.push_back(hand::sure_test("fault", 1.0, {0, 1, 0, 1}));
  problem.tests.push_back(hand::sure_test("repair", 1.0, {0, 0, 1, 1}));
  problem.repairs.push_back({"a", {FaultId(0), FaultId(1)}, 0.0, 0.0, {}});
  problem.repairs.push_back({"b", {FaultId(2)}, 0.0, 0.0, {}});
  problem.repairs.push_back({"c", {FaultId(3)}, 0.0, 0.0, {}});
  for (const GreedyRule rule : {GreedyRule::kEdges, GreedyRule::kBits, GreedyRule::kThrift}) {
    EXPECT_EQ(choose_greedy(problem, start_of(problem), rule), (Action{ActionKind::kTest, 1}));
  }
}

// Mending at once wastes 0.1 * 5; the test costs 1 for every job.
TEST(Greedy, ThriftMendsWhenOneRepairIsLikelyEnough) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.9, 0.1});
  problem.tests.push_back(hand::sure_test("t", 1.0, {0, 1}));
  hand::add_own_repairs(problem, {5.0, 30.0});
  EXPECT_EQ(choose_greedy(problem, start_of(problem), GreedyRule::kThrift), (Action{ActionKind::kRepair, 0}));
  problem.repairs[0].minutes = 20.0;
  EXPECT_EQ(choose_greedy(problem, start_of(problem), GreedyRule::kThrift), (Action{ActionKind::kTest, 0}));
}

// The outside test tells a little more per minute at first; behind the panel are three that together tell more.
TEST(Greedy, ThriftLetsTestsShareTheWay) {
  Problem problem = hand::with_faults(Goal::kIsolate, std::vector<double>(8, 0.125));
  problem.setups = {{"panel", 3.0, 3.0, {}, {}}};
  const Conditions inside{hand::set_of({0}), {}};
  problem.tests = {hand::sure_test("outside", 5.0, {0, 0, 0, 0, 1, 1, 1, 1}),
                   hand::sure_test("in-1", 1.0, {0, 0, 0, 0, 1, 1, 1, 1}, inside),
                   hand::sure_test("in-2", 1.0, {0, 0, 1, 1, 0, 0, 1, 1}, inside),
                   hand::sure_test("in-3", 1.0, {0, 1, 0, 1, 0, 1, 0, 1}, inside)};
  EXPECT_EQ(choose_greedy(problem, start_of(problem), GreedyRule::kThrift), (Action{ActionKind::kTest, 1}));
  EXPECT_NEAR(cost_of(problem, GreedyRule::kThrift), 9.0, 1e-12);
}

TEST(Greedy, NothingToDoIsStop) {
  Problem problem = hand::one_panel();
  Situation here = start_of(problem);
  here.weights = {0.0, 0.0, 1.0};
  EXPECT_EQ(choose_greedy(problem, here, GreedyRule::kBits), Action{});
}

// Neither test alone tells anything about the repair; both together tell all. No rule may give up here.
TEST(Greedy, TestsThatTellOnlyTogetherAreStillDone) {
  Problem problem = hand::with_faults(Goal::kIsolate, {0.25, 0.25, 0.25, 0.25});
  problem.tests = {hand::sure_test("a", 1.0, {0, 0, 1, 1}), hand::sure_test("b", 1.0, {0, 1, 0, 1})};
  problem.repairs.push_back({"even", {FaultId(0), FaultId(3)}, 0.0, 0.0, {}});
  problem.repairs.push_back({"odd", {FaultId(1), FaultId(2)}, 0.0, 0.0, {}});
  for (const GreedyRule rule : {GreedyRule::kEdges, GreedyRule::kBits, GreedyRule::kThrift}) {
    EXPECT_NEAR(cost_of(problem, rule), 2.0, 1e-12);
  }
}

}  // namespace
}  // namespace halfsplit::plan
