// SPDX-License-Identifier: Apache-2.0
#include "infer/entropy.h"

#include <gtest/gtest.h>

#include <cmath>

namespace halfsplit::infer {
namespace {

TEST(Entropy, OfKnownShares) {
  EXPECT_NEAR(entropy_bits(std::vector<double>{1.0, 1.0, 1.0, 1.0}), 2.0, 1e-12);
  EXPECT_EQ(entropy_bits(std::vector<double>{0.0, 3.0}), 0.0);
  EXPECT_EQ(entropy_bits({}), 0.0);
  // Six states of the test matrix of Raghavan, Shakeri and Pattipati 1999 (recomputed): 1.454873 bit.
  EXPECT_NEAR(entropy_bits(std::vector<double>{0.70, 0.01, 0.02, 0.10, 0.05, 0.12}), 1.454873, 5e-7);
}

TEST(ExpectedGain, ACertainTestTellsTheEntropyOfItsOutcome) {
  // Hypotheses a1 .2, a2 .2, b1 .3, c1 .3 and the cuts a1,b1 | a2,c1; a1,a2 | b1,c1; b1 | the rest. Recomputed by a
  // separate program: 1, 0.970951 and 0.881291 bit.
  const std::vector<double> p = {0.2, 0.2, 0.3, 0.3};
  const std::vector<std::vector<double>> t1 = {{1, 0}, {0, 1}, {1, 0}, {0, 1}};
  const std::vector<std::vector<double>> t2 = {{1, 0}, {1, 0}, {0, 1}, {0, 1}};
  EXPECT_NEAR(expected_gain_bits(p, t1), 1.0, 1e-12);
  EXPECT_NEAR(expected_gain_bits(p, t2), 0.970951, 5e-7);
  const std::vector<std::vector<double>> t3 = {{0, 1}, {0, 1}, {1, 0}, {0, 1}};
  EXPECT_NEAR(expected_gain_bits(p, t3), 0.881291, 5e-7);
  EXPECT_NEAR(expected_entropy_bits(p, t2), entropy_bits(p) - 0.970951, 5e-7);
}

TEST(ExpectedGain, ATestThatSaysTheSameToAllTellsNothing) {
  const std::vector<double> p = {0.5, 0.3, 0.2};
  const std::vector<std::vector<double>> table(3, {0.2, 0.5, 0.3});
  EXPECT_NEAR(expected_gain_bits(p, table), 0.0, 1e-12);
  const std::vector<double> chances = outcome_chances(p, table);
  EXPECT_NEAR(chances[1], 0.5, 1e-12);
}

}  // namespace
}  // namespace halfsplit::infer
