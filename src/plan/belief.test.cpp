// SPDX-License-Identifier: Apache-2.0
#include "plan/belief.h"

#include <gtest/gtest.h>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

Problem three_tests() {
  Problem problem = hand::with_faults(Goal::kRepair, {0.5, 0.3, 0.2});
  problem.tests.push_back(hand::unsure_test("a", 1.0, {0.9, 0.2, 0.2}));
  problem.tests.push_back(hand::unsure_test("b", 1.0, {0.4, 0.6, 1.0}));
  problem.tests.push_back(hand::sure_test("c", 1.0, {0, 1, 1}));
  hand::add_own_repairs(problem, {1.0, 2.0, 3.0});
  return problem;
}

TEST(Belief, OutcomesShareOutTheMass) {
  const Model model = make_model(three_tests());
  BeliefStack stack(model);
  const Belief start = stack.push(std::vector<double>{0.5, 0.3, 0.2});
  double mass = 0.0;
  for (std::size_t o = 0; o < 2; ++o) mass += stack.push_outcome(start, 0, o).mass;
  EXPECT_NEAR(mass, 1.0, 1e-15);
  const Belief second = stack.push_outcome(start, 2, 1);
  EXPECT_EQ(second.count, 2U);
  EXPECT_EQ(second.fault[0], 1);
  EXPECT_NEAR(second.mass, 0.5, 1e-15);
  EXPECT_EQ(stack.push_unmended(start, 1).count, 2U);
  EXPECT_EQ(stack.push_likely(start, 0.25).count, 2U);
}

TEST(Belief, EarlierOnesStayValidWhenTheStackGrows) {
  const Model model = make_model(three_tests());
  BeliefStack stack(model);
  const Belief start = stack.push(std::vector<double>{0.5, 0.3, 0.2});
  for (int i = 0; i < 50'000; ++i) (void)stack.push(start);
  EXPECT_DOUBLE_EQ(start.weight[1], 0.3);
}

// The order of outcomes does not matter, what was seen does, and what is certain by now is forgotten.
TEST(Fingerprint, NamesWhereNotHow) {
  const Model model = make_model(three_tests());
  BeliefStack stack(model);
  const Belief all = stack.push(std::vector<double>{0.5, 0.3, 0.2});
  const Seen a0{0, 0};
  const Seen b0{1, 0};
  const Seen b1{1, 1};
  EXPECT_EQ(fingerprint(model, all, {a0, b0}, 0), fingerprint(model, all, {b0, a0}, 0));
  EXPECT_NE(fingerprint(model, all, {a0, b0}, 0), fingerprint(model, all, {a0, b1}, 0));
  EXPECT_NE(fingerprint(model, all, {a0}, 0), fingerprint(model, all, {}, 0));
  EXPECT_NE(fingerprint(model, all, {a0}, 0), fingerprint(model, all, {a0}, 1));
  const Belief last = stack.push(std::vector<double>{0.0, 0.0, 0.2});
  EXPECT_EQ(fingerprint(model, last, {b0}, 0), fingerprint(model, last, {}, 0));
  EXPECT_NE(fingerprint(model, last, {}, 0), fingerprint(model, all, {}, 0));
}

}  // namespace
}  // namespace halfsplit::plan
