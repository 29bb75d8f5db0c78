// SPDX-License-Identifier: Apache-2.0
#include "plan/model.h"

#include <gtest/gtest.h>

#include <cmath>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

TEST(Model, FoldsFaultsThatNoTestAndNoRepairTellsApart) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.1, 0.2, 0.3, 0.4});
  problem.tests.push_back(hand::sure_test("t", 1.0, {0, 1, 0, 0}));
  problem.repairs.push_back({"r", {FaultId(0), FaultId(2), FaultId(1)}, 5.0, 0.0, {}});
  problem.repairs.push_back({"s", {FaultId(3)}, 5.0, 0.0, {}});
  const Model model = make_model(problem);
  EXPECT_EQ(model.fault_count, 3U);
  EXPECT_EQ(model.fault_of[0], model.fault_of[2]);
  const std::vector<double> weights = fold_weights(model, {0.1, 0.2, 0.3, 0.4});
  EXPECT_DOUBLE_EQ(weights[model.fault_of[0]], 0.4);
  EXPECT_DOUBLE_EQ(weights[model.fault_of[3]], 0.4);
}

TEST(Model, FaultsThatMustBeToldApartAreNotFolded) {
  Problem problem = hand::with_faults(Goal::kIsolate, {0.5, 0.5});
  problem.tests.push_back(hand::sure_test("t", 1.0, {0, 0}));
  EXPECT_EQ(make_model(problem).fault_count, 2U);
}

TEST(Model, LeavesOutWhatIsRuledOut) {
  Problem problem = hand::repairs_only();
  problem.faults[0].prior = 0.0;
  const Model model = make_model(problem);
  EXPECT_EQ(model.fault_count, 4U);
  EXPECT_EQ(model.fault_of[0], kNoFault);
}

TEST(Model, DearerTestsOfTheSameKindAreDominated) {
  Problem problem = hand::one_panel();
  const Conditions inside{hand::set_of({0}), {}};
  problem.tests.clear();
  problem.tests.push_back(hand::sure_test("dear", 2.0, {0, 1, 1}));
  problem.tests.push_back(hand::sure_test("inside", 1.0, {0, 1, 1}, inside));
  problem.tests.push_back(hand::sure_test("the same the other way round", 1.0, {1, 0, 0}));
  problem.tests.push_back(hand::sure_test("the same again", 1.0, {1, 0, 0}));
  problem.tests.push_back(hand::sure_test("another", 9.0, {0, 0, 1}));
  const Model model = make_model(problem);
  EXPECT_TRUE(model.tests[0].dominated);
  EXPECT_TRUE(model.tests[1].dominated);
  EXPECT_FALSE(model.tests[2].dominated);
  EXPECT_TRUE(model.tests[3].dominated);
  EXPECT_FALSE(model.tests[4].dominated);
}

// A binary symmetric channel with 10 % errors: 1 - H(0.1) = 0.531004 bit (any textbook on information).
TEST(Model, CapacityBoundsWhatATestCanTell) {
  const Model noisy = make_model(hand::nine_in_ten());
  EXPECT_GE(noisy.tests[0].capacity_bits, 0.531004);
  EXPECT_NEAR(noisy.tests[0].capacity_bits, 0.531004, 1e-6);
  const Model sure = make_model(hand::one_panel());
  EXPECT_DOUBLE_EQ(sure.tests[0].capacity_bits, 1.0);
}

TEST(Model, GroupsJoinWhatMayEndTogether) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.25, 0.25, 0.25, 0.25});
  problem.repairs.push_back({"a", {FaultId(0), FaultId(1)}, 1.0, 0.0, {}});
  problem.repairs.push_back({"b", {FaultId(1), FaultId(2)}, 1.0, 0.0, {}});
  problem.repairs.push_back({"c", {FaultId(3)}, 1.0, 0.0, {}});
  problem.tests.push_back(hand::sure_test("t", 1.0, {0, 1, 2, 3}));
  const Model model = make_model(problem);
  EXPECT_EQ(model.group_of[model.fault_of[0]], model.group_of[model.fault_of[2]]);
  EXPECT_NE(model.group_of[model.fault_of[0]], model.group_of[model.fault_of[3]]);
  EXPECT_FALSE(model.groups_are_classes);
}

}  // namespace
}  // namespace halfsplit::plan
