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

Fingerprint print_of(const Model& model, const Belief& belief, const std::vector<Seen>& seen, SetNumber made) {
  return fingerprint(model, belief, seen, made);
}

// The order of outcomes does not matter, what was seen does, and what is certain by now is forgotten.
TEST(Fingerprint, NamesWhereNotHow) {
  const Model model = make_model(three_tests());
  BeliefStack stack(model);
  const Belief all = stack.push(std::vector<double>{0.5, 0.3, 0.2});
  const Seen a0{0, 0};
  const Seen b0{1, 0};
  const Seen b1{1, 1};
  EXPECT_EQ(print_of(model, all, {a0, b0}, 0), print_of(model, all, {b0, a0}, 0));
  EXPECT_NE(print_of(model, all, {a0, b0}, 0), print_of(model, all, {a0, b1}, 0));
  EXPECT_NE(print_of(model, all, {a0}, 0), print_of(model, all, {}, 0));
  EXPECT_NE(print_of(model, all, {a0}, 0), print_of(model, all, {a0}, 1));
  const Belief last = stack.push(std::vector<double>{0.0, 0.0, 0.2});
  EXPECT_EQ(print_of(model, last, {b0}, 0), print_of(model, last, {}, 0));
  EXPECT_NE(print_of(model, last, {}, 0), print_of(model, all, {}, 0));
}

// Two readings that contradict each other leave the weights as they were: it does not matter which was which. What
// they say together does, and so does which tests are used up.
TEST(Fingerprint, SameWeightsAreTheSamePlaceWhateverWasSeen) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.5, 0.3, 0.2});
  problem.tests = {hand::unsure_test("a", 1.0, {0.9, 0.1, 0.1}), hand::unsure_test("b", 2.0, {0.9, 0.1, 0.1}),
                   hand::unsure_test("c", 2.0, {0.9, 0.1, 0.1})};
  hand::add_own_repairs(problem, {1.0, 2.0, 3.0});
  const Model model = make_model(problem);
  BeliefStack stack(model);
  const Belief all = stack.push(std::vector<double>{0.5, 0.3, 0.2});
  const Seen a0{0, 0}, a1{0, 1}, b0{1, 0}, b1{1, 1}, c1{2, 1};
  EXPECT_EQ(print_of(model, all, {a0, b1}, 0), print_of(model, all, {b0, a1}, 0));
  EXPECT_NE(print_of(model, all, {a0, b1}, 0), print_of(model, all, {a0, b0}, 0));
  EXPECT_NE(print_of(model, all, {a0, b1}, 0), print_of(model, all, {a0, c1}, 0));
  EXPECT_NE(print_of(model, all, {a0, b1}, 0), print_of(model, all, {}, 0));
}

}  // namespace
}  // namespace halfsplit::plan
