// SPDX-License-Identifier: Apache-2.0
#include "infer/log_sum.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

namespace halfsplit::infer {
namespace {

TEST(CompensatedSum, KeepsWhatPlainAdditionLoses) {
  // Neumaier's own example: plain doubles give 0.
  CompensatedSum sum;
  for (const double term : {1.0, 1e100, 1.0, -1e100}) sum.add(term);
  EXPECT_EQ(sum.value(), 2.0);
}

TEST(LogSumExp, StaysFiniteFarBelowAndAboveTheRangeOfExp) {
  EXPECT_NEAR(log_sum_exp(std::vector<double>{-2000.0, -2000.0}), -2000.0 + std::log(2.0), 1e-12);
  EXPECT_NEAR(log_sum_exp(std::vector<double>{2000.0, 1999.0, 1998.0}),
              2000.0 + std::log(1.0 + std::exp(-1.0) + std::exp(-2.0)), 1e-12);
  EXPECT_NEAR(log_sum_exp(-2000.0, -2001.0), -2000.0 + std::log1p(std::exp(-1.0)), 1e-12);
}

TEST(LogSumExp, NothingIsMinusInfinity) {
  const double nothing = -std::numeric_limits<double>::infinity();
  EXPECT_EQ(log_sum_exp({}), nothing);
  EXPECT_EQ(log_sum_exp(nothing, nothing), nothing);
  EXPECT_EQ(log_sum_exp(std::vector<double>{nothing, nothing}), nothing);
  EXPECT_EQ(log_sum_exp(nothing, 3.0), 3.0);
}

}  // namespace
}  // namespace halfsplit::infer
