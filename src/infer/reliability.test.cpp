// SPDX-License-Identifier: Apache-2.0
#include "infer/reliability.h"

#include <gtest/gtest.h>

namespace halfsplit::infer {
namespace {

// By hand. Bin 0.20 to 0.25: said 0.20 and 0.24, one right: gap |0.44 - 1|. Bin 0.70 to 0.75: 0.70, 0.72, 0.72, two
// right: |2.14 - 2|. Last bin: 1.00, right: no gap.
Reliability worked_example() {
  Reliability r;
  r.add(0.20, false);
  r.add(0.24, true);
  r.add(0.70, true);
  r.add(0.72, true);
  r.add(0.72, false);
  r.add(1.00, true);
  return r;
}

TEST(Reliability, GapsAreWeighedByClaims) {
  EXPECT_NEAR(worked_example().calibration_error(), (0.56 + 0.14 + 0.0) / 6.0, 1e-12);
}

TEST(Reliability, BrierIsTheMeanSquare) {
  // 0.04 + 0.5776 + 0.09 + 0.0784 + 0.5184 + 0 = 1.3044; four of six are right.
  EXPECT_NEAR(worked_example().brier(), 1.3044 / 6.0, 1e-12);
  EXPECT_NEAR(worked_example().brier_of_base_rate(), 4.0 / 6.0 * 2.0 / 6.0, 1e-12);
}

TEST(Reliability, BinsAreTwentiethsAndOneIsInTheLast) {
  const Reliability r = worked_example();
  EXPECT_EQ(r.bins()[4].claims, 2U);
  EXPECT_EQ(r.bins()[14].right, 2U);
  EXPECT_EQ(r.bins()[19].claims, 1U);
  EXPECT_NEAR(r.bins()[14].mean_said(), 2.14 / 3.0, 1e-12);
  EXPECT_EQ(r.all().claims, 6U);
  EXPECT_EQ(r.all().right, 4U);
}

TEST(Reliability, NothingSaidIsNoError) {
  const Reliability none;
  EXPECT_EQ(none.calibration_error(), 0.0);
  EXPECT_EQ(none.brier(), 0.0);
  EXPECT_EQ(none.brier_of_base_rate(), 0.0);
}

TEST(Reliability, WhatRoundingLeavesAboveOneIsCut) {
  Reliability r;
  r.add(1.0 + 1e-12, true);
  EXPECT_EQ(r.bins()[19].claims, 1U);
  EXPECT_EQ(r.brier(), 0.0);
}

}  // namespace
}  // namespace halfsplit::infer
