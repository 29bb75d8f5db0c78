// SPDX-License-Identifier: Apache-2.0
#include "infer/pair_guess.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"
#include "infer/likelihood.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using evidence::Prediction;
using test::id;

// Three faults and one reading; healthy is the last prediction.
double guess_at(const std::vector<Prediction>& shown, const Reading& reading, std::size_t i, std::size_t j) {
  std::vector<FaultRate> faults;
  for (std::size_t f = 0; f + 1 < shown.size(); ++f) faults.push_back({id(f), 1.0, 1});
  const std::vector<Row> rows = make_rows(faults, {});
  std::vector<std::vector<Prediction>> lines;
  for (const Prediction& prediction : shown) lines.push_back({prediction});
  const evidence::ResponseTable table = test::table_of(lines);
  const std::vector<Reading> readings = {reading};
  const LikelihoodTable likelihoods = compute_likelihoods(rows, table, readings, Noise{});
  return PairGuess(faults, rows, table, likelihoods, readings, Noise{}).log_likelihood(i, j);
}

double log_broad(const Reading& reading) { return std::log(broad_density(reading, Noise{})); }

const Prediction kHealthy = test::number(24.0, 0.2);

TEST(PairGuess, TakesTheBetterOfTheTwoSingles) {
  const Reading reading = test::saw(Kind::kVolts, 12.0);
  const Prediction twelve = test::number(12.0, 0.2);
  const double alone = log_likelihood(twelve, reading.seen, reading.kind, {}, Noise{});
  EXPECT_NEAR(guess_at({twelve, kHealthy, kHealthy}, reading, 0, 1), alone, 1e-12);
  EXPECT_NEAR(guess_at({kHealthy, twelve, kHealthy}, reading, 0, 1), alone, 1e-12);
}

TEST(PairGuess, EffectsAddedUpMayReachWhatNeitherReachesAlone) {
  // 6 V lost in each of two joints: 12 V is within reach of both together, 3 V is not, nor is 12 V of one with a
  // bystander.
  const Prediction eighteen = test::number(18.0, 0.2);
  const std::vector<Prediction> shown = {eighteen, eighteen, kHealthy, kHealthy};
  const Reading twelve = test::saw(Kind::kVolts, 12.0), three = test::saw(Kind::kVolts, 3.0);
  EXPECT_NEAR(guess_at(shown, twelve, 0, 1), log_broad(twelve), 1e-12);
  EXPECT_LT(guess_at(shown, twelve, 0, 2), log_broad(twelve) - 3.0);
  EXPECT_LT(guess_at(shown, three, 0, 1), log_broad(three) - 3.0);
}

TEST(PairGuess, ACutPathStaysCutWhateverElseIsWrong) {
  const Reading ohms = test::saw(Kind::kOhms, 98.0);  // 20 and 70 ohm above healthy, added up: 100
  const std::vector<Prediction> shown = {test::over_range(), test::number(80.0, 1.0), test::number(30.0, 1.0),
                                         test::number(10.0, 0.3)};
  EXPECT_LT(guess_at(shown, ohms, 0, 1), log_broad(ohms) - 3.0);
  EXPECT_NEAR(guess_at(shown, ohms, 1, 2), log_broad(ohms), 1e-12);
  EXPECT_LT(guess_at(shown, test::saw(Kind::kOhms, 140.0), 1, 2), log_broad(test::saw(Kind::kOhms, 140.0)) - 3.0);
  const Reading open = test::saw_over_range(Kind::kOhms);
  EXPECT_GT(guess_at(shown, open, 0, 1), -0.1);
}

TEST(PairGuess, TwoHalfEffectsMayMakeAWholeOne) {
  // Each makes the lamp weak; seen dead.
  const Prediction works = test::surely(0), weak = test::surely(1);
  const Reading dead = test::saw_word(Kind::kLook, 2);
  EXPECT_NEAR(guess_at({weak, weak, works, works}, dead, 0, 1), log_broad(dead), 1e-12);
  EXPECT_LT(guess_at({weak, works, works, works}, dead, 1, 2), log_broad(dead) - 3.0);
}

TEST(PairGuess, WithoutHealthyPredictionsEverythingIsWithinReach) {
  const Reading reading = test::saw(Kind::kVolts, 12.0);
  EXPECT_NEAR(guess_at({kHealthy, kHealthy, test::unknown()}, reading, 0, 1), log_broad(reading), 1e-12);
}

TEST(PairGuess, EveryFaultNeedsARow) {
  const std::vector<FaultRate> faults = {{id(0), 1.0, 1}, {id(5), 1.0, 1}};
  const std::vector<Row> rows = make_rows(std::vector<FaultRate>{faults[0]}, {});
  const evidence::ResponseTable table = test::table_of({{kHealthy}, {kHealthy}});
  const std::vector<Reading> readings = {test::saw(Kind::kVolts, 12.0)};
  const LikelihoodTable likelihoods = compute_likelihoods(rows, table, readings, Noise{});
  EXPECT_THROW(PairGuess(faults, rows, table, likelihoods, readings, Noise{}), base::Bug);
}

}  // namespace
}  // namespace halfsplit::infer
