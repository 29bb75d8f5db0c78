// SPDX-License-Identifier: Apache-2.0
#include "infer/prior.h"

#include <gtest/gtest.h>

#include <cmath>

#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using test::id;

const std::vector<FaultRate> kFaults = {{id(4), 0.02, 1}, {id(1), 0.01, 5}, {id(7), 0.0, 1}, {id(2), 0.07, 2}};

double sum_of_priors(const std::vector<Row>& rows) {
  double sum = 0.0;
  for (const Row& row : rows) sum += std::exp(row.log_prior);
  return sum;
}

TEST(MakeRows, SharesOutOnePerCentByOnePerCent) {
  const std::vector<Row> rows = make_rows(kFaults, {0.03, 0.05});
  ASSERT_EQ(rows.size(), 10U);
  EXPECT_NEAR(sum_of_priors(rows), 0.97, 1e-12);
  EXPECT_TRUE(is_not_drawn(rows.back()));
  EXPECT_NEAR(std::exp(rows.back().log_prior), 0.05, 1e-12);
  EXPECT_NEAR(std::exp(rows[0].log_prior), 0.92 * 0.2, 1e-9);
  EXPECT_EQ(rows[0].first, id(4));
}

TEST(MakeRows, SpreadsAFaultOverItsSeveritiesLowToHigh) {
  const std::vector<Row> rows = make_rows(kFaults, {});
  double share = 0.0;
  for (std::size_t k = 1; k <= 5; ++k) {
    EXPECT_EQ(rows[k].first, id(1));
    EXPECT_NEAR(rows[k].first_quantile, 0.1 + 0.2 * static_cast<double>(k - 1), 1e-12);
    EXPECT_EQ(rows[k].follows, k > 1);
    EXPECT_TRUE(same_hypothesis(rows[1], rows[k]));
    share += rows[k].quantile_weight;
  }
  EXPECT_NEAR(share, 1.0, 1e-12);
  EXPECT_FALSE(rows[6].follows);
  EXPECT_FALSE(same_hypothesis(rows[5], rows[6]));
}

TEST(MakeRows, NoRowReachesAcrossACut) {
  const std::vector<FaultRate> cut = {{id(3), 0.1, 4, {0.3, 0.5, 0.9}}};  // 0.5 is where two parts meet anyway
  const std::vector<Row> rows = make_rows(cut, {0.0, 0.0});
  const std::vector<std::pair<double, double>> parts = {{0.0, 0.25}, {0.25, 0.3}, {0.3, 0.5},
                                                        {0.5, 0.75}, {0.75, 0.9}, {0.9, 1.0}};
  ASSERT_EQ(rows.size(), parts.size());
  for (std::size_t k = 0; k < parts.size(); ++k) {
    const auto [low, high] = parts[k];
    EXPECT_NEAR(rows[k].first_quantile, 0.5 * (low + high), 1e-12);
    EXPECT_NEAR(rows[k].quantile_weight, high - low, 1e-12);
    EXPECT_NEAR(rows[k].log_prior, std::log(high - low), 1e-12);
    EXPECT_EQ(rows[k].follows, k > 0);
  }
}

TEST(MakeRows, WithoutTwoFaultsThereAreNoPairsToSaveFor) {
  const std::vector<FaultRate> one = {{id(0), 0.1, 1}};
  EXPECT_NEAR(sum_of_priors(make_rows(one, {})), 1.0, 1e-12);
  EXPECT_EQ(PairPrior(one, {}).total(), 0.0);
  const std::vector<Row> none = make_rows({}, {});
  ASSERT_EQ(none.size(), 1U);
  EXPECT_TRUE(is_not_drawn(none[0]));
  EXPECT_EQ(none[0].log_prior, 0.0);
}

TEST(MakeRows, ARateOfZeroIsSmallButNotImpossible) {
  for (const Row& row : make_rows(kFaults, {})) EXPECT_TRUE(std::isfinite(row.log_prior));
}

TEST(PairPrior, AddsUpToItsShareAndGoesWithTheProductOfRates) {
  const PairPrior prior(kFaults, {0.03, 0.05});
  double sum = 0.0;
  for (std::size_t i = 0; i < prior.size(); ++i)
    for (std::size_t j = i + 1; j < prior.size(); ++j) sum += std::exp(prior.log_prior(i, j));
  EXPECT_NEAR(sum, 0.03, 1e-12);
  EXPECT_NEAR(prior.log_prior(0, 3) - prior.log_prior(1, 3), std::log(2.0), 1e-12);
}

TEST(SameHypothesis, GoesByTheSetNotItsOrder) {
  EXPECT_TRUE(same_hypothesis(test::row_of({id(1), id(2)}, 0.0), test::row_of({id(2), id(1)}, 0.0)));
  EXPECT_TRUE(same_hypothesis(test::row_of({id(1), id(2), id(3)}, 0.0), test::row_of({id(3), id(1), id(2)}, 0.0)));
  EXPECT_FALSE(same_hypothesis(test::row_of({id(1), id(2)}, 0.0), test::row_of({id(1)}, 0.0)));
}

}  // namespace
}  // namespace halfsplit::infer
