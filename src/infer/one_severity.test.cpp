// SPDX-License-Identifier: Apache-2.0
// Held against a range cut so finely that no averaging is needed.
#include "infer/one_severity.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "infer/beyond_drawing.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;

// Two faults with a range each: ohms from 0 to 1200, and from 0 to 300. Every test reads them through a gain.
struct TwoRanges {
  explicit TwoRanges(std::size_t severities, std::vector<double> gains)
      : rows(make_rows(std::vector<FaultRate>{{id(0), 1.0, severities}, {id(1), 1.0, severities}}, {0.0, 0.0})),
        table(rows.size(), gains.size()) {
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < gains.size(); ++c)
        table.at(r, c) = is_not_drawn(rows[r]) ? test::number(0.0, 1.0) : test::number(gains[c] * ohm(r), 1.0);
    for (const double gain : gains) readings.push_back(test::saw(Kind::kOhms, gain * 210.0));
  }
  double ohm(std::size_t r) const { return rows[r].first_quantile * (rows[r].first == id(0) ? 1200.0 : 300.0); }
  // Share of the first fault, of both; joined or not.
  double share(bool joined, Leans* leans = nullptr) {
    LikelihoodTable likelihoods = compute_likelihoods(rows, table, readings, noise);
    if (joined) {
      const Leans its = join_severities(rows, table, readings, noise, likelihoods).leans;
      if (leans != nullptr) *leans = its;
    }
    const Posterior posterior = compute_posterior(rows, likelihoods);
    return posterior.fault[0] / (posterior.fault[0] + posterior.fault[1]);
  }

  Noise noise;
  std::vector<Row> rows;
  evidence::ResponseTable table;
  std::vector<Reading> readings;
};

TEST(OneSeverity, TheSameQuantityReadOftenTellsTwoRangesApartOnlyOnce) {
  TwoRanges once(12, {1.0});
  TwoRanges often(12, std::vector<double>(12, 1.0));
  EXPECT_LT(often.share(false), 0.01);  // each reading as if of another vehicle: the shorter range wins
  EXPECT_NEAR(often.share(true), once.share(true), 0.03);
  EXPECT_NEAR(once.share(true), 0.2, 0.02);  // four times as long a range: a quarter of the density
}

TEST(OneSeverity, AgreesWithARangeCutVeryFinely) {
  base::Rng rng(5);
  for (int trial = 0; trial < 12; ++trial) {
    std::vector<double> gains;
    for (std::size_t i = 0; i < 1 + rng.below(6); ++i) gains.push_back(rng.uniform(0.2, 1.5));
    TwoRanges coarse(12, gains);
    TwoRanges fine(3000, gains);
    for (std::size_t c = 0; c < gains.size(); ++c) {
      const double x = gains[c] * 210.0 + rng.normal();
      coarse.readings[c] = fine.readings[c] = test::saw(Kind::kOhms, x);
    }
    EXPECT_NEAR(coarse.share(true), fine.share(false), 0.03) << "trial " << trial;
  }
}

TEST(OneSeverity, ContradictingReadingsStillSpeakAgainst) {
  TwoRanges it(12, {1.0, 1.0});
  it.readings[1] = test::saw(Kind::kOhms, 215.0);  // within the same stretch, five spreads away
  LikelihoodTable likelihoods = compute_likelihoods(it.rows, it.table, it.readings, it.noise);
  const LikelihoodTable before = likelihoods;
  (void)join_severities(it.rows, it.table, it.readings, it.noise, likelihoods);
  const std::size_t r = 2;  // 250 ohm, stands for 200 to 300
  EXPECT_EQ(likelihoods.at(r, 0), before.at(r, 0));
  EXPECT_LT(likelihoods.at(r, 1), before.at(r, 1));
}

TEST(OneSeverity, LeansToWhereTheReadingsAre) {
  TwoRanges it(12, {1.0, 1.0});
  Leans leans;
  (void)it.share(true, &leans);
  ASSERT_EQ(leans.size(), it.rows.size());
  const std::size_t r = 2;
  EXPECT_NEAR(1200.0 * quantile_at(it.rows, r, leans[r]), 210.0, 2.0);
  EXPECT_EQ(leans.back(), 0.0);
}

TEST(OneSeverity, WithoutARangeNothingChanges) {
  const std::vector<Row> rows = make_rows(std::vector<FaultRate>{{id(0), 1.0}, {id(1), 2.0}}, {});
  const evidence::ResponseTable table = test::table_of({{test::number(1.0, 0.1), test::words(0.3, 0.7)},
                                                        {test::number(1.2, 0.1), test::words(0.5, 0.5)},
                                                        {test::number(0.0, 0.1), test::words(1.0, 0.0)}});
  const std::vector<Reading> readings = {test::saw(Kind::kVolts, 1.1), test::saw_word(Kind::kCode, 1)};
  LikelihoodTable likelihoods = compute_likelihoods(rows, table, readings, Noise{});
  const LikelihoodTable before = likelihoods;
  EXPECT_EQ(join_severities(rows, table, readings, Noise{}, likelihoods).leans, Leans(rows.size(), 0.0));
  for (std::size_t r = 0; r < 2; ++r)
    for (std::size_t c = 0; c < 2; ++c) EXPECT_EQ(likelihoods.at(r, c), before.at(r, c));
  const std::vector<const evidence::Prediction*> healthy{&table.at(2, 0), &table.at(2, 1)};
  const BeyondDrawing beyond = weigh_beyond_drawing(healthy, readings, Noise{});
  for (std::size_t c = 0; c < 2; ++c) EXPECT_EQ(likelihoods.at(2, c), beyond.log_likelihoods[c]) << "not drawn";
}

}  // namespace
}  // namespace halfsplit::infer
