// SPDX-License-Identifier: Apache-2.0
// Against double and single integrals done by brute force.
#include "predict/normal.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace halfsplit::predict {
namespace {

double density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi); }

// Of x below z1, the other below z2 given x: (z2 - r x) / sqrt(1 - r^2).
double by_steps(double z1, double z2, double r) {
  constexpr double kStep = 1.0e-3;
  double sum = 0.0;
  for (double x = -9.0 + 0.5 * kStep; x < z1; x += kStep)
    sum += density(x) * normal_below((z2 - r * x) / std::sqrt(1.0 - r * r)) * kStep;
  return sum;
}

TEST(Normal, TwoBelowAgreesWithTheDoubleIntegral) {
  for (const double z1 : {-2.9, -1.0, 0.0, 0.7, 2.5})
    for (const double z2 : {-2.0, -0.3, 0.0, 1.4, 2.9})
      for (const double r : {-0.999, -0.9, -0.5, 0.0, 0.3, 0.8, 0.99, 0.999})
        EXPECT_NEAR(both_below(z1, z2, r), by_steps(z1, z2, r), 1.5e-3) << z1 << " " << z2 << " " << r;
}

TEST(Normal, TwoBelowAtTheEndsOfCorrelation) {
  EXPECT_NEAR(both_below(0.5, 1.5, 1.0), normal_below(0.5), 1.0e-4) << "one decides";
  EXPECT_NEAR(both_below(0.5, 0.2, -1.0), normal_below(0.5) + normal_below(0.2) - 1.0, 1.0e-4);
  EXPECT_NEAR(both_below(-1.0, -1.0, -1.0), 0.0, 1.0e-4);
  EXPECT_NEAR(both_below(0.0, 0.0, 0.5), 1.0 / 3.0, 1.0e-6) << "a third: by symmetry, asin(1/2) = pi/6";
}

TEST(Normal, AboveIsOneHalfAtTheThreshold) {
  EXPECT_DOUBLE_EQ(normal_above(2.0, 2.0, 0.1), 0.5);
  EXPECT_NEAR(normal_above(3.0, 2.0, 1.0), 0.8413447, 1.0e-6);
  EXPECT_EQ(normal_above(3.0, 2.0, 0.0), 1.0);
}

TEST(Normal, CutOffAboveHasTheMomentsOfWhatIsLeft) {
  for (const double z : {-3.0, -0.5, 0.0, 1.0, 4.0}) {
    constexpr double kStep = 1.0e-4;
    double share = 0.0, first = 0.0, second = 0.0;
    for (double x = -12.0 + 0.5 * kStep; x < z; x += kStep) {
      share += density(x) * kStep;
      first += x * density(x) * kStep;
      second += x * x * density(x) * kStep;
    }
    const Below below = cut_off_above(z);
    EXPECT_NEAR(below.share, share, 1.0e-4);
    EXPECT_NEAR(below.mean, first / share, 1.0e-3) << z;
    EXPECT_NEAR(below.sigma, std::sqrt(second / share - first * first / share / share), 1.0e-3) << z;
  }
}

}  // namespace
}  // namespace halfsplit::predict
