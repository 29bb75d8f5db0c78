// SPDX-License-Identifier: Apache-2.0
#include "plan/tree.h"

#include <gtest/gtest.h>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

PlanOptions whole() {
  PlanOptions options;
  options.tree.min_probability = 0.0;
  return options;
}

// Outside first; half of the jobs end there after 3 minutes, the others open the panel and take 3 + 4 + 1 + 2.
TEST(Tree, IsThePlanSolvedOnPaper) {
  const PlanTree tree = make_tree(hand::one_panel(), whole());
  EXPECT_NEAR(tree.expected_minutes, 6.5, 1e-12);
  EXPECT_NEAR(tree.median_minutes, 3.0, 1e-12);
  EXPECT_NEAR(tree.minutes_of_95, 10.0, 1e-12);
  const PlanNode& root = tree.nodes[0];
  EXPECT_EQ(root.action, (Action{ActionKind::kTest, 0}));
  ASSERT_EQ(root.branches.size(), 2U);
  EXPECT_NEAR(root.branches[0].probability, 0.5, 1e-12);
  EXPECT_EQ(tree.nodes[root.branches[0].node].action.kind, ActionKind::kStop);
  const PlanNode& inside = tree.nodes[root.branches[1].node];
  EXPECT_NEAR(inside.minutes_before, 3.0, 1e-12);
  EXPECT_EQ(inside.steps, (std::vector<SetupStep>{{SetupId(0), true, 4.0}}));
  const PlanNode& end = tree.nodes[inside.branches[0].node];
  EXPECT_EQ(end.steps, (std::vector<SetupStep>{{SetupId(0), false, 2.0}}));
  EXPECT_NEAR(end.minutes, 2.0, 1e-12);
}

TEST(Tree, NodesAddUp) {
  const PlanTree tree = make_tree(hand::nine_in_ten(), whole());
  EXPECT_NEAR(tree.expected_minutes, 18.6, 1e-12);
  double ends = 0.0;
  double mean = 0.0;
  for (std::size_t i = 0; i < tree.nodes.size(); ++i) {
    const PlanNode& node = tree.nodes[i];
    double reached = 0.0;
    for (const PlanBranch& branch : node.branches) {
      EXPECT_GT(branch.node, i);
      EXPECT_NEAR(tree.nodes[branch.node].probability, node.probability * branch.probability, 1e-12);
      EXPECT_NEAR(tree.nodes[branch.node].minutes_before, node.minutes_before + node.minutes, 1e-12);
      reached += branch.probability;
    }
    if (node.branches.empty()) {
      ends += node.probability;
      mean += node.probability * (node.minutes_before + node.minutes);
    } else {
      EXPECT_NEAR(reached, 1.0, 1e-12);
    }
  }
  EXPECT_NEAR(ends, 1.0, 1e-12);
  EXPECT_NEAR(mean, tree.expected_minutes, 1e-12);
}

// Right 45 % of the jobs: 1 + 11; wrong way round: 1 + 11 + 21 ...
TEST(Tree, QuantilesAreOfWholeJobs) {
  const PlanTree tree = make_tree(hand::nine_in_ten(), whole());
  EXPECT_NEAR(tree.median_minutes, 22.0, 1e-12);
  EXPECT_NEAR(tree.minutes_of_95, 33.0, 1e-12);
}

TEST(Tree, UnlikelyBranchesAreCutButCounted) {
  PlanOptions options;
  options.tree.min_probability = 0.2;
  const PlanTree tree = make_tree(hand::nine_in_ten(), options);
  EXPECT_NEAR(tree.cut_probability, 0.1, 1e-12);
  EXPECT_NEAR(tree.expected_minutes, 18.6, 1e-9);
  std::size_t cut = 0;
  for (const PlanNode& node : tree.nodes) cut += node.cut ? 1 : 0;
  EXPECT_EQ(cut, 2U);
}

TEST(Tree, FollowsAnyPolicy) {
  const Problem problem = hand::repairs_only();
  const Policy in_turn = [&](const Situation& here) {
    std::size_t next = 0;
    while (!here.repairs_left[next]) ++next;
    return Choice{{ActionKind::kRepair, next}, 0.0, false};
  };
  const PlanTree tree = grow_tree(problem, start_of(problem), in_turn, {0.0, 1'000});
  EXPECT_NEAR(tree.expected_minutes, 20.0 + 0.6 * 5.0 + 0.35 * 8.0 + 0.15 * 1.0 + 0.05 * 4.0, 1e-12);
}

}  // namespace
}  // namespace halfsplit::plan
