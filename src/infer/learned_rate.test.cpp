// SPDX-License-Identifier: Apache-2.0
#include "infer/learned_rate.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"

namespace halfsplit::infer {
namespace {

TEST(LearnedRate, StartsAtTheDefault) {
  const LearnedRate rate{0.01, 2.0, 0, 0};
  EXPECT_DOUBLE_EQ(mean_per_year(rate), 0.01);
  EXPECT_DOUBLE_EQ(factor(rate), 1.0);
}

TEST(LearnedRate, IsTheGammaPoissonMean) {
  // By hand: shape 2 + 3, time 2 / 0.01 + 100 years = 300: 5 / 300.
  LearnedRate rate{0.01, 2.0, 0, 0};
  add(rate, {3, 36525});
  EXPECT_NEAR(mean_per_year(rate), 5.0 / 300.0, 1e-15);
  EXPECT_NEAR(deviation_per_year(rate), std::sqrt(5.0) / 300.0, 1e-15);
}

TEST(LearnedRate, YearsWithoutARepairLowerIt) {
  LearnedRate rate{0.01, 2.0, 0, 0};
  add(rate, {0, 36525});
  EXPECT_LT(factor(rate), 1.0);
}

TEST(LearnedRate, GoesWithTheRecordWhenThatGrowsLong) {
  LearnedRate rate{0.01, 2.0, 0, 0};
  add(rate, {40000, 365250000});
  EXPECT_NEAR(mean_per_year(rate), 0.04, 1e-4);
}

TEST(LearnedRate, TakingBackGivesTheVerySameRate) {
  LearnedRate rate{0.0137, 1.7, 5, 1234};
  const double before = mean_per_year(rate);
  add(rate, {1, 777});
  EXPECT_NE(mean_per_year(rate), before);
  take_back(rate, {1, 777});
  EXPECT_EQ(mean_per_year(rate), before);
  EXPECT_THROW(take_back(rate, {6, 0}), base::Bug);
}

}  // namespace
}  // namespace halfsplit::infer
