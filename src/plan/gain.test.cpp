// SPDX-License-Identifier: Apache-2.0
#include "plan/gain.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

// a1 .2, a2 .2 share a repair; b1 .3; c1 .3. Numbers: recomputed by brute force outside this program (edge weights of
// two-class pairs, bits about the class) and given to six digits.
Problem two_in_a_class() {
  Problem problem = hand::with_faults(Goal::kIsolate, {0.2, 0.2, 0.3, 0.3});
  problem.tests.push_back(hand::sure_test("t1", 1.0, {0, 1, 0, 1}));
  problem.tests.push_back(hand::sure_test("t2", 1.0, {0, 0, 1, 1}));
  problem.tests.push_back(hand::sure_test("t3", 1.0, {0, 0, 1, 0}));
  problem.repairs.push_back({"a", {FaultId(0), FaultId(1)}, 0.0, 0.0, {}});
  problem.repairs.push_back({"b", {FaultId(2)}, 0.0, 0.0, {}});
  problem.repairs.push_back({"c", {FaultId(3)}, 0.0, 0.0, {}});
  return problem;
}

TEST(Gain, EdgesAndBitsOfSharedRepairs) {
  const Model model = make_model(two_in_a_class());
  BeliefStack stack(model);
  const Belief all = stack.push(std::vector<double>{0.2, 0.2, 0.3, 0.3});
  Gain gain(model);
  gain.look_at(all);
  EXPECT_NEAR(gain.edges(), 0.33, 1e-12);
  EXPECT_NEAR(gain.edges_cut(0), 0.27, 1e-12);
  EXPECT_NEAR(gain.edges_cut(1), 0.276, 1e-12);
  EXPECT_NEAR(gain.edges_cut(2), 0.246, 1e-12);
  EXPECT_NEAR(gain.bits(0), 0.6, 1e-6);
  EXPECT_NEAR(gain.bits(1), 0.970951, 1e-6);
  EXPECT_NEAR(gain.bits(2), 0.881291, 1e-6);
}

TEST(Gain, NoiseThatTellsNothingIsWorthNothing) {
  Problem problem = two_in_a_class();
  problem.tests.push_back(hand::unsure_test("coin", 1.0, {0.5, 0.5, 0.5, 0.5}));
  problem.tests.push_back(hand::unsure_test("within the class", 1.0, {0.9, 0.1, 0.5, 0.5}));
  const Model model = make_model(problem);
  BeliefStack stack(model);
  const Belief all = stack.push(std::vector<double>{0.2, 0.2, 0.3, 0.3});
  Gain gain(model);
  gain.look_at(all);
  EXPECT_FALSE(gain.splits(3));
  EXPECT_NEAR(gain.bits(3), 0.0, 1e-12);
  EXPECT_NEAR(gain.edges_cut(3), 0.0, 1e-12);
  EXPECT_TRUE(gain.splits(4));
  EXPECT_NEAR(gain.bits(4), 0.0, 1e-12);
}

double entropy(const std::vector<double>& masses) {
  double sum = 0.0;
  double bits = 0.0;
  for (const double m : masses) sum += m;
  for (const double m : masses) bits -= m > 0.0 ? m * std::log2(m / sum) : 0.0;
  return bits;
}

// Bits from their definition (entropy before less entropy after), with two faults in one class, uncertain rows and a
// mass that is not 1.
TEST(Gain, BitsAreTheFallOfEntropy) {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    Problem problem = two_in_a_class();
    std::vector<double> chance;
    std::vector<double> weight;
    for (int f = 0; f < 4; ++f) {
      chance.push_back(rng.uniform());
      weight.push_back(rng.uniform(0.01, 0.4));
    }
    problem.tests = {hand::unsure_test("t", 1.0, chance)};
    const Model model = make_model(problem);
    BeliefStack stack(model);
    Gain gain(model);
    gain.look_at(stack.push(weight));
    const double before = entropy({weight[0] + weight[1], weight[2], weight[3]});
    double after = 0.0;
    for (int o = 0; o < 2; ++o) {
      std::vector<double> w;
      for (int f = 0; f < 4; ++f) w.push_back(weight[f] * (o == 0 ? chance[f] : 1.0 - chance[f]));
      after += entropy({w[0] + w[1], w[2], w[3]});
    }
    EXPECT_NEAR(gain.class_bits(), before, 1e-12);
    EXPECT_NEAR(gain.bits(0), before - after, 1e-12);
    EXPECT_NEAR(gain.repair_bits(0), before - entropy({weight[2], weight[3]}), 1e-12);
    EXPECT_NEAR(gain.mended_mass(0), weight[0] + weight[1], 1e-15);
  }
}

}  // namespace
}  // namespace halfsplit::plan
