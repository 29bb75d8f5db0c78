// SPDX-License-Identifier: Apache-2.0
#include "infer/noise.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
constexpr Kind kNumeric[] = {Kind::kVolts, Kind::kOhms, Kind::kClamp, Kind::kLive};
constexpr Kind kWords[] = {Kind::kContinuity, Kind::kTestLamp, Kind::kCode,  Kind::kLook,
                           Kind::kAnswers,    Kind::kWiggle,   Kind::kHeat,  Kind::kCool,
                           Kind::kHeard,      Kind::kQuiet,    Kind::kHears, Kind::kInspect};

// Over the whole line: x = sinh(t) / 1000 reaches from a thousandth to 1e10 in even steps.
template <class Density>
double integrate(Density density) {
  const double step = 2e-4;
  double sum = 0.0;
  for (double t = -32.0; t <= 32.0; t += step) sum += density(std::sinh(t) * 1e-3) * std::cosh(t) * 1e-3;
  return sum * step;
}

TEST(BroadBelow, IsWhatTheDensityAddsUpTo) {
  const Noise noise;
  const Scale scale{-40.0, 215.0};
  const double inf = std::numeric_limits<double>::infinity();
  for (const Kind kind : kNumeric) {
    SCOPED_TRACE(evidence::kind_word(kind));
    EXPECT_NEAR(broad_below(kind, scale, noise, -inf), 0.0, 1e-12);
    EXPECT_NEAR(broad_below(kind, scale, noise, inf), 1.0 - broad_density(test::saw_over_range(kind), noise), 1e-12);
    for (const double from : {-30.0, -1.3, -0.07, 0.02, 0.4, 3.0, 24.5, 400.0, 2.0e4}) {
      const double to = from + 0.3 * std::fabs(from);
      constexpr int kSteps = 20000;
      double sum = 0.0;
      for (int i = 0; i < kSteps; ++i) {
        const double x = from + (to - from) * (i + 0.5) / kSteps;
        sum += broad_density(test::saw(kind, x, scale), noise) * (to - from) / kSteps;
      }
      EXPECT_NEAR(broad_below(kind, scale, noise, to) - broad_below(kind, scale, noise, from), sum, 1e-5) << from;
    }
  }
}

TEST(BroadDensity, AddsUpToOneOverAllThatCanBeSeen) {
  const Noise noise;
  for (const Kind kind : kNumeric) {
    const double over_range = broad_density(test::saw_over_range(kind), noise);
    const double rest = integrate([&](double x) { return broad_density(test::saw(kind, x, {-40.0, 215.0}), noise); });
    EXPECT_NEAR(over_range + rest, 1.0, 1e-4) << evidence::kind_word(kind);
  }
  for (const Kind kind : kWords) {
    double sum = 0.0;
    for (std::size_t k = 0; k < evidence::categories(kind).size(); ++k)
      sum += broad_density(test::saw_word(kind, static_cast<int>(k)), noise);
    EXPECT_NEAR(sum, 1.0, 1e-12) << evidence::kind_word(kind);
  }
}

// Of any number of codes, a fault that is not on the drawing is expected to set two at most and to leave 1.2.
TEST(BroadDensity, OfACodeFollowsHowManyThereAre) {
  for (const std::size_t codes : {0U, 1U, 8U, 9U, 32U, 400U}) {
    SCOPED_TRACE(codes);
    Noise noise;
    noise.codes = codes;
    const auto mass = [&](int word) { return broad_density(test::saw_word(Kind::kCode, word), noise); };
    EXPECT_NEAR(mass(0) + mass(1) + mass(2), 1.0, 1e-12);
    EXPECT_LE(mass(0) * static_cast<double>(codes), 2.0 + 1e-12);
    EXPECT_LE(mass(1) * static_cast<double>(codes), 1.2 + 1e-12);
    EXPECT_NEAR(mass(0), codes == 400 ? 0.005 : codes == 32 ? 2.0 / 32.0 : codes == 9 ? 2.0 / 9.0 : 0.25, 1e-12);
  }
}

TEST(BroadDensity, FollowsTheSystemVolts) {
  Noise truck;
  Noise van;
  van.system_volts = 12.0;
  EXPECT_GT(broad_density(test::saw(Kind::kVolts, 25.0), truck),
            10.0 * broad_density(test::saw(Kind::kVolts, 25.0), van));
  EXPECT_GT(broad_density(test::saw(Kind::kVolts, 12.6), van), broad_density(test::saw(Kind::kVolts, 12.6), truck));
}

TEST(BroadDensity, IsPositiveForEveryFiniteValue) {
  const Noise noise;
  for (const Kind kind : kNumeric)
    for (const double x : {0.0, -1e-308, 1e308, -1e308, 1e150, -7.0, std::numeric_limits<double>::denorm_min()})
      EXPECT_GT(broad_density(test::saw(kind, x), noise), 0.0) << evidence::kind_word(kind) << " " << x;
}

TEST(BroadDensity, WhatIsNotAReadingIsABug) {
  const Noise noise;
  EXPECT_THROW((void)broad_density(test::saw(Kind::kVolts, std::nan("")), noise), base::Bug);
  EXPECT_THROW((void)broad_density(test::saw_word(Kind::kAnswers, 2), noise), base::Bug);
  EXPECT_THROW((void)broad_density(test::saw_word(Kind::kCode, -1), noise), base::Bug);
}

TEST(WrongShare, ProbesSlipMoreOftenThanReadersLie) {
  const Noise noise;
  EXPECT_EQ(wrong_share(Kind::kVolts, noise), noise.mis_probe);
  EXPECT_EQ(wrong_share(Kind::kTestLamp, noise), noise.mis_probe);
  EXPECT_EQ(wrong_share(Kind::kCode, noise), noise.misread);
  EXPECT_EQ(wrong_share(Kind::kLook, noise), noise.misread);
}

TEST(WorstFactor, IsTheMisProbeShareOfTheBroadLevelAgainstThePeak) {
  Noise noise;
  noise.misread = 0.01;
  // An answer "no" (broad 0.3): 0.01 * 0.3 against 0.01 * 0.3 + 0.99.
  EXPECT_NEAR(worst_factor(test::saw_word(Kind::kAnswers, 1), noise), 0.003 / 0.993, 1e-12);
}

}  // namespace
}  // namespace halfsplit::infer
