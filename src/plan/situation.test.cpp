// SPDX-License-Identifier: Apache-2.0
#include "plan/situation.h"

#include <gtest/gtest.h>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

TEST(Situation, TestReweighsByTheTable) {
  const Problem problem = hand::nine_in_ten();
  const Situation start = start_of(problem);
  const Action reading{ActionKind::kTest, 0};
  EXPECT_DOUBLE_EQ(outcome_probability(problem, start, reading, 0), 0.5);
  const Situation next = after(problem, start, reading, 0);
  EXPECT_DOUBLE_EQ(next.weights[0], 0.45);
  EXPECT_DOUBLE_EQ(next.weights[1], 0.05);
  EXPECT_FALSE(next.tests_left[0]);
}

TEST(Situation, FailedRepairRulesOutWhatItMends) {
  const Problem problem = hand::nine_in_ten();
  const Action mend{ActionKind::kRepair, 1};
  EXPECT_DOUBLE_EQ(outcome_probability(problem, start_of(problem), mend, kMended), 0.5);
  const Situation next = after(problem, start_of(problem), mend, kNotMended);
  EXPECT_DOUBLE_EQ(next.weights[0], 0.5);
  EXPECT_DOUBLE_EQ(next.weights[1], 0.0);
  EXPECT_FALSE(next.repairs_left[1]);
}

TEST(Situation, MinutesCountSetupsExtrasAndProof) {
  Problem problem = hand::one_panel();
  problem.goal = Goal::kRepair;
  hand::add_own_repairs(problem, {5.0, 6.0, 7.0});
  problem.repairs[0].conditions.needs = hand::set_of({0});
  problem.repairs[0].extra_minutes = 3.0;
  problem.check = {1.0, {{}, hand::set_of({0})}};
  const Situation start = start_of(problem);
  EXPECT_DOUBLE_EQ(minutes_of(problem, start, {ActionKind::kTest, 1}), 4.0 + 1.0);
  EXPECT_DOUBLE_EQ(minutes_of(problem, start, {ActionKind::kRepair, 0}), 4.0 + 5.0 + 3.0 + 2.0 + 1.0);
  const Situation inside = after(problem, start, {ActionKind::kTest, 1}, 1);
  EXPECT_EQ(inside.made, hand::set_of({0}));
  EXPECT_DOUBLE_EQ(minutes_of(problem, inside, Action{}), 2.0);
}

// On paper: the panel is opened (4), the repair 5 and its part 3, the panel closed for the check (2), which takes 1.
TEST(Situation, TheWayToAnActionIsItsStepsAndMinutes) {
  Problem problem = hand::one_panel();
  problem.goal = Goal::kRepair;
  hand::add_own_repairs(problem, {5.0, 6.0, 7.0});
  problem.repairs[0].conditions.needs = hand::set_of({0});
  problem.repairs[0].extra_minutes = 3.0;
  problem.check = {1.0, {{}, hand::set_of({0})}};
  const Situation start = start_of(problem);
  const Decision mend = way_to(problem, start, {ActionKind::kRepair, 0});
  EXPECT_EQ(mend.action, (Action{ActionKind::kRepair, 0}));
  EXPECT_EQ(mend.steps, (std::vector<SetupStep>{{SetupId(0), true, 4.0}}));
  EXPECT_DOUBLE_EQ(mend.setup_minutes, 4.0);
  EXPECT_DOUBLE_EQ(mend.action_minutes, 8.0);
  EXPECT_EQ(mend.proof_steps, (std::vector<SetupStep>{{SetupId(0), false, 2.0}}));
  EXPECT_DOUBLE_EQ(mend.proof_minutes, 3.0);
  for (const Action action : {Action{ActionKind::kTest, 0}, Action{ActionKind::kTest, 1},
                              Action{ActionKind::kRepair, 0}, Action{ActionKind::kRepair, 2}, Action{}}) {
    const Decision way = way_to(problem, start, action);
    EXPECT_DOUBLE_EQ(way.setup_minutes + way.action_minutes + way.proof_minutes, minutes_of(problem, start, action));
  }
}

// The decision's own action has the same way there.
TEST(Situation, TheWayToTheDecisionsActionIsTheDecisions) {
  for (const Problem& problem : {hand::one_panel(), hand::nine_in_ten()}) {
    const Decision decision = decide(problem);
    const Decision way = way_to(problem, start_of(problem), decision.action);
    EXPECT_EQ(way.steps, decision.steps);
    EXPECT_DOUBLE_EQ(way.action_minutes, decision.action_minutes);
    EXPECT_DOUBLE_EQ(way.proof_minutes, decision.proof_minutes);
  }
}

TEST(Situation, IsolatedMeansOneRepairOrOneFault) {
  Problem problem = hand::one_panel();
  Situation here = start_of(problem);
  EXPECT_FALSE(is_isolated(problem, here));
  here.weights[0] = 0.0;
  EXPECT_FALSE(is_isolated(problem, here));
  problem.repairs.push_back({"both", {FaultId(1), FaultId(2)}, 0.0, 0.0, {}});
  EXPECT_TRUE(is_isolated(problem, here));
  here.weights[1] = 0.0;
  problem.repairs.clear();
  EXPECT_TRUE(is_isolated(problem, here));
}

}  // namespace
}  // namespace halfsplit::plan
