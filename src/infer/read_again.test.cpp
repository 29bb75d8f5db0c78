// SPDX-License-Identifier: Apache-2.0
#include "infer/read_again.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "infer/likelihood_table.h"
#include "infer/one_severity.h"
#include "infer/posterior.h"
#include "infer/robust_normal.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Component;
using evidence::Kind;
using evidence::Prediction;
using test::id;

const Noise kNoise;

// The same test, read once for each of these, in order.
std::vector<Reading> read_in_turn(Kind kind, const std::vector<evidence::Seen>& seen) {
  std::vector<Reading> readings;
  for (const evidence::Seen& one : seen) {
    Reading reading{kind, one, {-40.0, 150.0}};
    for (const Reading& before : readings) reading.before.push_back({before.seen, {}});
    readings.push_back(reading);
  }
  return readings;
}

std::vector<evidence::Seen> numbers(const std::vector<double>& values) {
  std::vector<evidence::Seen> seen;
  for (const double value : values) seen.push_back({false, value, -1});
  return seen;
}

std::vector<evidence::Seen> words_seen(const std::vector<int>& words) {
  std::vector<evidence::Seen> seen;
  for (const int word : words) seen.push_back({false, 0.0, word});
  return seen;
}

double log_of(const Prediction& prediction, const std::vector<Reading>& readings) {
  double sum = 0.0;
  for (const Reading& reading : readings) sum += log_likelihood(prediction, Neighbours{}, reading, kNoise);
  return sum;
}

double log_beyond(const Prediction& healthy, const std::vector<Reading>& readings) {
  double sum = 0.0;
  for (const Reading& reading : readings) sum += log_likelihood_beyond_drawing(healthy, reading, kNoise);
  return sum;
}

// Logarithm of the odds of one prediction against another after these readings.
double odds(const Prediction& one, const Prediction& other, const std::vector<Reading>& readings) {
  return log_of(one, readings) - log_of(other, readings);
}

Prediction two_ways(double one, double other, double sigma, bool moments) {
  Prediction both{{{0.5, false, one, sigma, {}}, {0.5, false, other, sigma, {}}}, true};
  both.components[0].states = 1;
  both.components[1].states = 2;
  both.components[1].moment = moments ? 2 : 0;
  both.components[0].moment = moments ? 1 : 0;
  return both;
}

TEST(ReadAgain, TheSameValueOftenSpeaksAboutAsMuchAsOnce) {
  for (const auto& [mean, sigma] : {std::pair{21.0, 1.0}, std::pair{19.0, 3.0}, std::pair{20.5, 2.0}}) {
    SCOPED_TRACE(mean);
    const Prediction near = test::number(20.0, 0.8);
    const Prediction far = test::number(mean, sigma);
    const double once = odds(near, far, read_in_turn(Kind::kLive, numbers({20.0})));
    const double often = odds(near, far, read_in_turn(Kind::kLive, numbers(std::vector<double>(12, 20.0))));
    EXPECT_GT(once, 0.0);
    EXPECT_NEAR(often, once, 0.7);  // twelve times as much would be ten
  }
}

TEST(ReadAgain, WhatIsNotDrawnIsNotRuledOutByReadingTheSameAgain) {
  const Prediction fault = test::number(12.0, 0.4);
  const Prediction healthy = test::number(24.0, 0.4);
  const auto gap = [&](std::size_t times) {
    const std::vector<Reading> readings = read_in_turn(Kind::kVolts, numbers(std::vector<double>(times, 12.0)));
    return log_of(fault, readings) - log_beyond(healthy, readings);
  };
  EXPECT_NEAR(gap(2), gap(1), 0.9);
  EXPECT_NEAR(gap(12), gap(2), 0.5);
}

TEST(ReadAgain, ASlipDoesNotHappenTwice) {
  const Prediction fits = test::number(12.0, 0.3);
  const Prediction slipped = test::number(24.0, 0.3);
  const double once = odds(fits, slipped, read_in_turn(Kind::kVolts, numbers({12.0})));
  const double twice = odds(fits, slipped, read_in_turn(Kind::kVolts, numbers({12.0, 12.02})));
  EXPECT_GT(twice, 1.8 * once);
}

TEST(ReadAgain, AValueThatMovedByMoreThanAReadingRepeatsToIsASlipForAllThatStay) {
  const Prediction wide = test::number(12.0, 0.5);
  const std::vector<Reading> stays = read_in_turn(Kind::kVolts, numbers({12.0, 12.05}));
  const std::vector<Reading> moves = read_in_turn(Kind::kVolts, numbers({12.0, 12.3}));
  EXPECT_GT(log_of(wide, stays), log_of(wide, moves) + 3.0);  // by itself 12.3 is as good as 12
}

// A meter on a lively bus: the figure moves by more than the instrument would.
TEST(ReadAgain, WhatEachReadingDrawsAnewIsNoContradiction) {
  Prediction lively = test::number(2.4, 0.1);
  lively.components[0].anew = 0.06;
  const std::vector<Reading> moves = read_in_turn(Kind::kVolts, numbers({2.45, 2.37, 2.42}));
  EXPECT_GT(log_of(lively, moves), log_of(test::number(2.4, 0.1), moves) + 3.0);
  EXPECT_LT(odds(two_ways(2.45, 2.37, 0.1, true), lively, moves), 0.5);
}

TEST(ReadAgain, WhatComesAndGoesIsDrawnAnewInEachMoment) {
  const Prediction loose = two_ways(24.0, 0.0, 0.3, true);
  const Prediction steady = test::number(24.0, 0.3);
  const double once = odds(loose, steady, read_in_turn(Kind::kVolts, numbers({24.0})));
  const double thrice = odds(loose, steady, read_in_turn(Kind::kVolts, numbers({24.0, 24.0, 24.0})));
  EXPECT_NEAR(once, std::log(0.5), 0.05);
  EXPECT_NEAR(thrice, 3.0 * std::log(0.5), 0.1);
  EXPECT_GT(odds(loose, steady, read_in_turn(Kind::kVolts, numbers({24.0, 0.0, 24.0}))), 1.0);
  EXPECT_GT(odds(loose, steady, read_in_turn(Kind::kVolts, numbers({24.0, 0.0, 24.0, 0.0}))), 2.0);
}

TEST(ReadAgain, WhatToleranceLeavesOpenIsSettledByTheFirstReading) {
  const Prediction border = two_ways(24.0, 0.0, 0.3, false);
  const Prediction sure = test::number(24.0, 0.3);
  const double once = odds(border, sure, read_in_turn(Kind::kVolts, numbers({24.0})));
  EXPECT_NEAR(odds(border, sure, read_in_turn(Kind::kVolts, numbers(std::vector<double>(9, 24.0)))), once, 0.05);
}

TEST(ReadAgain, AWordOnTheBorderIsSeenAgain) {
  const Prediction border = test::words(0.2, 0.6, 0.2);
  const Prediction sure = test::words(0.0, 1.0, 0.0);
  const double once = odds(border, sure, read_in_turn(Kind::kLook, words_seen({1})));
  const double often = odds(border, sure, read_in_turn(Kind::kLook, words_seen({1, 1, 1, 1, 1, 1})));
  EXPECT_NEAR(once, std::log(0.6), 0.05);
  EXPECT_NEAR(often, once, 0.3);
}

TEST(ReadAgain, AWiggleIsTriedAnewEachTime) {
  const Prediction chance = test::words(0.7, 0.3);
  const std::vector<Reading> tried = read_in_turn(Kind::kWiggle, words_seen({0, 0, 1}));
  double alone = 0.0;
  for (Reading one : tried) {
    one.before.clear();
    alone += log_likelihood(chance, Neighbours{}, one, kNoise);
  }
  EXPECT_NEAR(log_of(chance, tried), alone, 1.0e-12);
}

TEST(ReadAgain, WhatIsUnknownStaysSo) {
  const Prediction fits = test::number(12.0, 0.4);
  const std::vector<Reading> once = read_in_turn(Kind::kVolts, numbers({12.0}));
  const std::vector<Reading> often = read_in_turn(Kind::kVolts, numbers(std::vector<double>(8, 12.0)));
  EXPECT_NEAR(odds(fits, test::unknown(), often), odds(fits, test::unknown(), once), 1.2);
}

// Over all that can be seen it comes to one.
TEST(ReadAgain, IsADensity) {
  base::Rng rng(11);
  for (int trial = 0; trial < 12; ++trial) {
    Prediction prediction;
    const std::size_t parts = 1 + rng.below(3);
    for (std::size_t i = 0; i < parts; ++i) {
      Component c{1.0 / static_cast<double>(parts), false, rng.uniform(0.0, 30.0), rng.uniform(0.05, 2.0), {}};
      c.states = static_cast<std::uint32_t>(i);
      c.moment = static_cast<std::uint8_t>(rng.below(3));
      prediction.components.push_back(c);
    }
    std::vector<evidence::Seen> seen;
    for (std::size_t k = 0; k < 1 + rng.below(4); ++k)
      seen.push_back(
          {false,
           rng.chance(0.7) ? prediction.components[rng.below(parts)].mean + 0.3 * rng.normal() : rng.uniform(0.0, 30.0),
           -1});
    seen.emplace_back();
    Reading reading = read_in_turn(Kind::kVolts, seen).back();
    double sum = 0.0;
    double beyond = 0.0;
    constexpr double kStep = 0.003;
    for (double x = -60.0; x < 90.0; x += kStep) {
      reading.seen.value = x;
      sum += kStep * std::exp(log_likelihood(prediction, Neighbours{}, reading, kNoise));
      beyond += kStep * std::exp(log_likelihood_beyond_drawing(prediction, reading, kNoise));
    }
    EXPECT_NEAR(sum, 1.0, 0.02) << "trial " << trial;
    EXPECT_NEAR(beyond, 1.0, 0.03) << "trial " << trial;
  }
}

TEST(ReadAgain, WordsAddUpToOne) {
  base::Rng rng(12);
  for (int trial = 0; trial < 200; ++trial) {
    Prediction prediction;
    for (int i = 0; i < 2; ++i) {
      const float first = static_cast<float>(rng.uniform());
      const float second = static_cast<float>(rng.uniform()) * (1.0F - first);
      Component c{0.5, false, 0.0, 0.0, {first, second, 1.0F - first - second}};
      c.moment = static_cast<std::uint8_t>(i * (trial % 2));
      prediction.components.push_back(c);
    }
    std::vector<evidence::Seen> seen = words_seen({static_cast<int>(rng.below(3)), static_cast<int>(rng.below(3)), 0});
    double sum = 0.0;
    double beyond = 0.0;
    for (int word = 0; word < 3; ++word) {
      seen.back().category = word;
      const Reading reading = read_in_turn(Kind::kLook, seen).back();
      sum += std::exp(log_likelihood(prediction, Neighbours{}, reading, kNoise));
      beyond += std::exp(log_likelihood_beyond_drawing(prediction, reading, kNoise));
    }
    EXPECT_NEAR(sum, 1.0, 1.0e-6);
    EXPECT_NEAR(beyond, 1.0, 1.0e-6);
  }
}

// What is foretold of a second look is what it is then weighed by.
TEST(ReadAgain, ForetoldAsItIsWeighed) {
  base::Rng rng(13);
  const Noise noise = test::no_noise();
  for (int trial = 0; trial < 300; ++trial) {
    const bool words = trial % 2 == 0;
    const Kind kind = words ? Kind::kLook : Kind::kVolts;
    Prediction prediction;
    const std::size_t parts = 1 + rng.below(3);
    for (std::size_t i = 0; i < parts; ++i) {
      const float first = static_cast<float>(rng.uniform());
      Component c{1.0 / static_cast<double>(parts), false, rng.uniform(5.0, 25.0), rng.uniform(0.3, 2.0), {}};
      if (words) c.category = {first, 0.5F * (1.0F - first), 0.5F * (1.0F - first)};
      c.moment = static_cast<std::uint8_t>(rng.below(2));
      prediction.components.push_back(c);
    }
    const auto draw = [&] {
      const double value = prediction.components[rng.below(parts)].mean + rng.normal();
      return words ? evidence::Seen{false, 0.0, static_cast<int>(rng.below(3))} : evidence::Seen{false, value, -1};
    };
    std::vector<evidence::Seen> seen;
    for (std::size_t k = 0; k < 2 + rng.below(3); ++k) seen.push_back(rng.chance(0.5) && k > 0 ? seen[0] : draw());
    const Reading reading = read_in_turn(kind, seen).back();
    const auto weigh = [&](const Prediction& foretold, double rest) {
      double density = rest;
      for (const Component& c : foretold.components) {
        density -= rest * c.weight;
        density += c.weight * (words ? static_cast<double>(c.category[static_cast<std::size_t>(reading.seen.category)])
                                     : robust_normal(reading.seen.value, c.mean, c.sigma));
      }
      return density;
    };
    const double drawn = std::exp(log_likelihood(prediction, Neighbours{}, reading, noise));
    EXPECT_NEAR(weigh(predict_again(prediction, reading, noise), 0.0), drawn, 1.0e-3 * drawn + 1.0e-6) << trial;
    if (words) continue;
    const double beyond = std::exp(log_likelihood_beyond_drawing(prediction, reading, noise));
    const double broad = broad_density(reading, noise);
    EXPECT_NEAR(weigh(predict_beyond_again(prediction, reading, noise), broad), beyond, 1.0e-3 * beyond) << trial;
  }
}

TEST(ReadAgain, ASecondLookAtWhatStaysForetellsTheFirst) {
  const Reading twice = read_in_turn(Kind::kLook, words_seen({1, 0})).back();  // the second is not looked at
  const Prediction border = predict_again(test::words(0.5, 0.5), twice, kNoise);
  EXPECT_GT(evidence::chance_of(border, 1), 0.94);
  const Reading away = read_in_turn(Kind::kLive, {{true, 0.0, -1}, {}}).back();
  Prediction either{{{0.5, true, 0.0, 0.0, {}}, {0.5, false, 20.0, 1.0, {}}}, true};
  const Prediction still = predict_again(either, away, kNoise);
  double over_range = 0.0;
  for (const Component& c : still.components) over_range += c.over_range ? c.weight : 0.0;
  EXPECT_GT(over_range, 0.95);
}

// Two ranges of one length, read again and again: a severity is one, and so are the tolerances beside it.
TEST(ReadAgain, OverARangeOfSeveritiesAsWell) {
  const std::vector<Row> rows = make_rows(std::vector<FaultRate>{{id(0), 1.0, 12}, {id(1), 1.0, 1}}, {0.0, 0.0});
  const auto share = [&](std::size_t times) {
    const std::vector<Reading> readings = read_in_turn(Kind::kOhms, numbers(std::vector<double>(times, 210.0)));
    evidence::ResponseTable table(rows.size(), times);
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < times; ++c)
        table.at(r, c) =
            rows[r].first == id(0) ? test::number(600.0 * rows[r].first_quantile, 15.0) : test::number(230.0, 12.0);
    LikelihoodTable likelihoods = compute_likelihoods(rows, table, readings, kNoise);
    (void)join_severities(rows, table, readings, kNoise, likelihoods);
    return compute_posterior(rows, likelihoods).fault[0];
  };
  EXPECT_NEAR(share(10), share(1), 0.1);
}

TEST(ReadAgain, WhatWasSeenBeforeItsRepairIsNotTheSameTest) {
  Reading reading{Kind::kVolts, {false, 24.0, -1}, {}};
  reading.before = {{{false, 0.0, -1}, {id(3), id(5)}}, {{false, 24.0, -1}, {}}};
  Reading own;
  const Row mended = test::row_of({id(5)}, 0.0);
  const Row other = test::row_of({id(4)}, 0.0);
  const Row second = test::row_of({id(4), id(3)}, 0.0);
  EXPECT_EQ(&reading_for(other, reading, own), &reading);
  EXPECT_EQ(&reading_for(test::row_of({}, 0.0), reading, own), &reading);
  ASSERT_EQ(reading_for(mended, reading, own).before.size(), 1U);
  EXPECT_EQ(own.before[0].seen.value, 24.0);
  EXPECT_EQ(reading_for(second, reading, own).before.size(), 1U);
  // One table of both: for the mended fault 24 V is the first look, for the other one it contradicts the first.
  const std::vector<Row> rows{mended, other};
  Reading after = reading;
  after.before.pop_back();
  const evidence::ResponseTable table = test::table_of({{test::number(24.0, 0.3)}, {test::number(24.0, 0.3)}});
  const std::vector<double> column = compute_column(rows, table, 0, after, kNoise);
  Reading first = after;
  first.before.clear();
  EXPECT_EQ(column[0], log_likelihood(table.at(0, 0), Neighbours{}, first, kNoise));
}

}  // namespace
}  // namespace halfsplit::infer
