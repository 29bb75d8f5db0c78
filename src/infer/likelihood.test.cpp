// SPDX-License-Identifier: Apache-2.0
#include "infer/likelihood.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "base/rng.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using evidence::Prediction;

double density(const Prediction& prediction, const Reading& reading, const Noise& noise = {}) {
  return std::exp(log_likelihood(prediction, reading.seen, reading.kind, reading.scale, noise));
}

Prediction half_open() { return {{{0.25, true, 0.0, 0.0, {}}, {0.75, false, 120.0, 3.0, {}}}, true}; }

double integrate_ohms(const Prediction& prediction, const Neighbours& neighbours) {
  const double step = 2e-4;
  double sum = 0.0;
  for (double t = -32.0; t <= 32.0; t += step) {
    const Reading reading = test::saw(Kind::kOhms, std::sinh(t) * 1e-3);
    sum += std::exp(log_likelihood(prediction, neighbours, reading, Noise{})) * std::cosh(t) * 1e-3;
  }
  return sum * step;
}

TEST(Likelihood, AddsUpToOneOverAllReadings) {
  const Prediction below = {{{0.25, true, 0.0, 0.0, {}}, {0.75, false, 60.0, 3.0, {}}}, true};
  const Prediction above = {{{0.25, true, 0.0, 0.0, {}}, {0.75, false, 300.0, 3.0, {}}}, true};
  Prediction restless = half_open();
  restless.settled = false;
  // Smallest sigma depends on the value seen, which takes a little of the far side of each component.
  for (const Prediction& prediction : {half_open(), restless, test::unknown()}) {
    const double over_range = density(prediction, test::saw_over_range(Kind::kOhms));
    EXPECT_NEAR(over_range + integrate_ohms(prediction, {}), 1.0, 2e-3);
    EXPECT_NEAR(over_range + integrate_ohms(prediction, {&below, &above}), 1.0, 2e-3);
  }
}

TEST(Likelihood, OfCategoriesIsTheMixtureWithTheMisread) {
  Noise noise;
  noise.misread = 0.1;
  // code: absent is broad 0.6
  EXPECT_NEAR(density(test::words(0.7, 0.1, 0.2), test::saw_word(Kind::kCode, 2), noise), 0.9 * 0.2 + 0.1 * 0.6, 1e-7);
}

TEST(Likelihood, HasATailHeavierThanNormalButFarBelowItsMiddle) {
  Noise noise = test::no_noise();
  const Prediction prediction = test::number(12.0, 0.5);
  const double at_four = density(prediction, test::saw(Kind::kVolts, 14.0), noise);
  const double normal = std::exp(-8.0) / (0.5 * std::sqrt(2.0 * M_PI));
  EXPECT_GT(at_four, 10.0 * normal);
  EXPECT_LT(at_four, 0.02 * density(prediction, test::saw(Kind::kVolts, 12.0), noise));
}

TEST(Likelihood, UnknownTellsNothingAndUnsettledTellsHalf) {
  const Noise noise;
  const Reading reading = test::saw(Kind::kVolts, 11.0);
  const double broad = broad_density(reading, noise);
  EXPECT_NEAR(density(test::unknown(), reading), broad, 1e-15);
  Prediction restless = test::number(11.0, 0.1);
  restless.settled = false;
  const double settled = density(test::number(11.0, 0.1), reading, test::no_noise());
  EXPECT_NEAR(density(restless, reading), 0.02 * broad + 0.98 * 0.5 * (settled + broad), 1e-12);
}

TEST(Likelihood, WhatTheComponentsLeaveOverTellsNothing) {
  const Reading reading = test::saw(Kind::kVolts, 11.0);
  const double broad = broad_density(reading, Noise{});
  const double whole = density(test::number(11.0, 0.1), reading, test::no_noise());
  Prediction half = test::number(11.0, 0.1);
  half.components.front().weight = 0.5;
  EXPECT_NEAR(density(half, reading), 0.02 * broad + 0.98 * 0.5 * (whole + broad), 1e-12);
}

TEST(Likelihood, IsFiniteWhateverIsReadOrPredicted) {
  const double inf = std::numeric_limits<double>::infinity();
  const Prediction predictions[] = {test::number(0.0, 0.0),
                                    test::number(1e308, 1e-300),
                                    test::number(inf, 1.0),
                                    test::number(std::nan(""), inf),
                                    test::over_range(),
                                    test::unknown(),
                                    half_open()};
  for (const Noise& noise : {Noise{}, test::no_noise()})
    for (const Prediction& prediction : predictions)
      for (const Kind kind : {Kind::kVolts, Kind::kOhms, Kind::kClamp, Kind::kLive})
        for (const double x : {0.0, 1.0, -1e308, 1e308, 1e-308}) {
          const Reading reading = test::saw(kind, x);
          EXPECT_TRUE(std::isfinite(log_likelihood(prediction, reading.seen, kind, {}, noise))) << x;
          EXPECT_TRUE(std::isfinite(log_likelihood(prediction, {&predictions[1], &predictions[0]}, reading, noise)))
              << x;
          const Reading over = test::saw_over_range(kind);
          EXPECT_TRUE(std::isfinite(log_likelihood(prediction, over.seen, kind, {}, noise)));
        }
}

TEST(Likelihood, NeverExceedsItsPeakNorFallsBelowTheMisProbe) {
  constexpr std::uint64_t kSeed = 20240611;
  base::Rng rng(kSeed);
  for (int k = 0; k < 4000; ++k) {
    const Kind kind = static_cast<Kind>(rng.below(2));  // volts, ohms
    const Reading reading = test::saw(kind, rng.uniform(-5.0, 40.0));
    const auto near = [&] { return test::number(reading.seen.value + rng.normal(), rng.log_uniform(1e-5, 10.0)); };
    const Prediction below = near(), own = near(), above = near();
    const Noise noise;
    const double value = std::exp(log_likelihood(own, {&below, &above}, reading, noise));
    EXPECT_LE(value, peak_density(reading, noise) * (1.0 + 1e-12)) << "seed " << kSeed;
    EXPECT_GE(value, noise.mis_probe * broad_density(reading, noise) * (1.0 - 1e-12)) << "seed " << kSeed;
  }
}

// The mean along the range: straight lines through (1/6, 4 V), (1/2, 10 V), (5/6, 12 V), mirrored at the ends.
double mean_at(double u) {
  const double k = u * 3.0 - 0.5;
  return k < 1.0 ? 4.0 + 6.0 * k : 10.0 + 2.0 * (k - 1.0);
}

TEST(LikelihoodOfASeverity, IsTheAverageOverTheRangeItStandsFor) {
  const Noise noise = test::no_noise();
  const Prediction three[] = {test::number(4.0, 0.3), test::number(10.0, 0.3), test::number(12.0, 0.3)};
  const Neighbours neighbours[] = {{nullptr, &three[1]}, {&three[0], &three[2]}, {&three[1], nullptr}};
  for (const double x : {2.0, 4.0, 6.7, 10.1, 11.3, 12.9}) {
    const Reading reading = test::saw(Kind::kVolts, x);
    double rows = 0.0;
    for (std::size_t k = 0; k < 3; ++k) rows += std::exp(log_likelihood(three[k], neighbours[k], reading, noise)) / 3.0;
    double fine = 0.0;
    constexpr int kSteps = 20000;
    for (int s = 0; s < kSteps; ++s) fine += density(test::number(mean_at((s + 0.5) / kSteps), 0.3), reading, noise);
    EXPECT_NEAR(rows, fine / kSteps, 1e-5) << x;
  }
}

TEST(LikelihoodOfASeverity, AReadingBetweenTwoSeveritiesIsNoMisProbe) {
  const Prediction low = test::number(4.0, 0.05), high = test::number(10.0, 0.05);
  const Reading between = test::saw(Kind::kVolts, 7.5);
  const double alone = log_likelihood(high, Neighbours{}, between, Noise{});
  const double in_range = log_likelihood(high, {&low, nullptr}, between, Noise{});
  EXPECT_GT(in_range, alone + std::log(50.0));
}

TEST(LikelihoodOfASeverity, ANeighbourOfAnotherShapeGivesNoLine) {
  const Prediction own = test::number(10.0, 0.05), open = test::over_range();
  const Reading reading = test::saw(Kind::kVolts, 10.0);
  EXPECT_EQ(log_likelihood(own, {&open, &open}, reading, Noise{}), log_likelihood(own, Neighbours{}, reading, Noise{}));
}

// 4 V with the relay in; 10 V, or with the relay out 0 V.
TEST(LikelihoodOfASeverity, ALineRunsToTheNeighboursComponentOfTheSameStates) {
  const Prediction low = test::number(4.0, 0.05);
  Prediction high = test::number(10.0, 0.05);
  high.components[0].weight = 0.5;
  high.components.push_back(high.components[0]);
  high.components[1].mean = 0.0;
  high.components[1].states = 7;
  const Neighbours to_low{&low, nullptr};
  const auto logs = [&](double volt) { return log_likelihood(high, to_low, test::saw(Kind::kVolts, volt), Noise{}); };
  EXPECT_GT(logs(7.5), logs(2.0) + std::log(20.0)) << "between 4 and 10: on the way; between 0 and 4: nowhere";
  EXPECT_GT(logs(0.0), logs(2.0) + std::log(20.0)) << "as it reads with the relay out";
}

TEST(LikelihoodOfASeverity, StandsForItsShareOfTheWay) {
  const Prediction low = test::number(4.0, 0.05), high = test::number(10.0, 0.05);
  const auto at = [&](double volt, double share) {
    return log_likelihood(high, {&low, nullptr, share, 0.5}, test::saw(Kind::kVolts, volt), Noise{});
  };
  EXPECT_GT(at(9.0, 0.25), at(7.5, 0.25) + std::log(20.0));
  EXPECT_GT(at(5.0, 0.9), at(5.0, 0.5) + std::log(20.0));
}

TEST(Likelihood, WhatComponentsLeaveOverFindsNoRestAndTellsNothing) {
  Prediction half = test::number(12.0, 0.1);
  half.components[0].weight = 0.5;
  const Noise noise = test::no_noise();
  const Reading far = test::saw(Kind::kVolts, 3.0);
  EXPECT_NEAR(density(half, far, noise), 0.5 * broad_density(far, noise), 0.05 * broad_density(far, noise));
}

TEST(BeyondTheDrawing, HealthyReadingsDoNotCountAgainstIt) {
  const Noise noise;
  const Reading healthy = test::saw(Kind::kVolts, 24.1);
  const double drawn = log_likelihood(test::number(24.0, 0.2), Neighbours{}, healthy, noise);
  const double beyond = log_likelihood_beyond_drawing(test::number(24.0, 0.2), healthy, noise);
  EXPECT_GT(beyond, drawn - std::log(2.1));
  const Reading odd = test::saw(Kind::kVolts, 7.3);
  EXPECT_GT(log_likelihood_beyond_drawing(test::number(24.0, 0.2), odd, noise),
            std::log(0.49 * broad_density(odd, noise)));
}

}  // namespace
}  // namespace halfsplit::infer
