// SPDX-License-Identifier: Apache-2.0
#include "infer/pairs.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <set>

#include "base/rng.h"
#include "infer/log_sum.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;
constexpr std::uint64_t kSeed = 99;

// Faults 0..n-1 darken lamps of their own; a pair darkens both of its lamps. Seen: the lamps in `dark`. After them come
// `idle` faults that darken none.
struct Lamps {
  Lamps(std::size_t count, const std::set<std::size_t>& dark, std::size_t idle = 0) {
    for (std::size_t i = 0; i < count + idle; ++i) faults.push_back({id(i), 1.0 + 0.1 * static_cast<double>(i), 1});
    for (std::size_t c = 0; c < count; ++c) readings.push_back(test::saw_word(Kind::kLook, dark.count(c) == 1 ? 2 : 0));
    rows = make_rows(faults, shares);
    table = evidence::ResponseTable(rows.size(), count);
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < count; ++c) table.at(r, c) = lamp(c, r == c && r < count);
    likelihoods = compute_likelihoods(rows, table, readings, noise);
    guess = std::make_unique<PairGuess>(faults, rows, table, likelihoods, readings, noise);
    search.faults = faults;
    search.shares = shares;
    search.readings = readings;
    search.noise = noise;
    search.guess = guess.get();
    search.log_evidence_singles = compute_posterior(rows, likelihoods).log_evidence;
  }
  static evidence::Prediction lamp(std::size_t, bool is_dark) { return test::surely(is_dark ? 2 : 0); }
  [[nodiscard]] std::vector<PairRow> predict(std::size_t i, std::size_t j) const {
    PairRow row;
    for (std::size_t c = 0; c < readings.size(); ++c) row.cells.push_back(lamp(c, c == i || c == j));
    return {row};
  }
  [[nodiscard]] PredictPair predictor() const {
    return [this](std::size_t i, std::size_t j) { return predict(i, j); };
  }

  std::vector<FaultRate> faults;
  PriorShares shares;
  std::vector<Reading> readings;
  Noise noise;
  std::vector<Row> rows;
  evidence::ResponseTable table{0, 0};
  LikelihoodTable likelihoods{0};
  std::unique_ptr<PairGuess> guess;
  PairSearch search;
};

TEST(ExplorePairs, LooksFirstAtThePairThatExplains) {
  Lamps lamps(12, {3, 8});
  lamps.search.budget = 1;
  const PairsFound found = explore_pairs(lamps.search, lamps.predictor());
  ASSERT_EQ(found.rows.size(), 1U);
  EXPECT_EQ(found.rows[0].first, id(3));
  EXPECT_EQ(found.rows[0].second, id(8));
  EXPECT_EQ(found.evaluated, 1U);
  EXPECT_EQ(found.possible, 66U);
}

TEST(ExplorePairs, StopsOnceTheBoundIsSmallEnough) {
  // One lamp is dark and a single fault explains it. No reading is worth more than 1 here, so pairs are bounded by
  // their prior mass: 0.03 against the single's 0.08 or so, before any is predicted.
  Lamps lamps(12, {3});
  lamps.search.epsilon = 0.5;
  const PairsFound none = explore_pairs(lamps.search, lamps.predictor());
  EXPECT_EQ(none.evaluated, 0U);
  EXPECT_NEAR(none.prior_left, 0.03, 1e-12);
  lamps.search.epsilon = 0.1;
  const PairsFound some = explore_pairs(lamps.search, lamps.predictor());
  EXPECT_GT(some.evaluated, 0U);
  EXPECT_LT(some.evaluated, 66U);
  EXPECT_LE(some.share_left_bound, 0.1);
}

TEST(ExplorePairs, TellsAheadWhatItAsksForInThatOrder) {
  Lamps plain(12, {3, 8}), lamps(12, {3, 8});
  std::vector<std::pair<std::size_t, std::size_t>> told, asked;
  for (Lamps* one : {&plain, &lamps}) one->search.epsilon = 0.02;
  lamps.search.ahead = [&](const auto& pairs) { told.insert(told.end(), pairs.begin(), pairs.end()); };
  const PairsFound found = explore_pairs(lamps.search, [&](std::size_t i, std::size_t j) {
    asked.emplace_back(i, j);
    EXPECT_LE(asked.size(), told.size());
    return lamps.predict(i, j);
  });
  ASSERT_GT(asked.size(), 8U);
  ASSERT_LE(asked.size(), told.size());
  EXPECT_TRUE(std::equal(asked.begin(), asked.end(), told.begin()));
  EXPECT_LE(told.size(), 66U);
  const PairsFound same = explore_pairs(plain.search, plain.predictor());
  EXPECT_EQ(found.evaluated, same.evaluated);
  EXPECT_EQ(found.share_left_bound, same.share_left_bound);
}

TEST(ExplorePairs, LeavesNothingWhenAllAreLookedAt) {
  Lamps lamps(8, {1, 5});
  lamps.search.epsilon = 0.0;
  lamps.search.keep = 0.0;
  const PairsFound found = explore_pairs(lamps.search, lamps.predictor());
  EXPECT_EQ(found.evaluated, 28U);
  EXPECT_EQ(found.rows.size(), 28U);
  EXPECT_EQ(found.prior_left, 0.0);
  EXPECT_EQ(found.share_left_bound, 0.0);
  double prior = 0.0;
  for (const Row& row : found.rows) prior += std::exp(row.log_prior);
  EXPECT_NEAR(prior, 0.03, 1e-12);
}

TEST(ExplorePairs, TheBoundIsNeverBelowWhatIsReallyLeft) {
  base::Rng rng(kSeed);
  for (int k = 0; k < 60; ++k) {
    const std::set<std::size_t> dark = {rng.below(9), rng.below(9), rng.below(9)};
    Lamps lamps(9, dark);
    lamps.search.budget = rng.below(37);
    lamps.search.epsilon = rng.uniform() * 0.3;
    lamps.search.keep = rng.chance(0.5) ? 0.01 : 0.0;
    const PairsFound some = explore_pairs(lamps.search, lamps.predictor());
    Lamps all(9, dark);
    all.search.epsilon = 0.0;
    all.search.keep = 0.0;
    all.search.budget = 36;
    const PairsFound every = explore_pairs(all.search, all.predictor());
    const double mass_all = log_sum_exp(log_joint(every.rows, every.likelihoods));
    const double mass_some = log_sum_exp(log_joint(some.rows, some.likelihoods));
    const double really_left = std::exp(mass_all) - std::exp(mass_some);
    EXPECT_GE(std::exp(some.log_left_out_bound), really_left * (1.0 - 1e-9) - 1e-300) << "seed " << kSeed;
    EXPECT_LE(some.evaluated, lamps.search.budget);
  }
}

TEST(ExplorePairs, WhatIsNotKeptIsCounted) {
  Lamps lamps(8, {1, 5});
  lamps.search.epsilon = 0.0;
  lamps.search.keep = 1e-3;
  const PairsFound found = explore_pairs(lamps.search, lamps.predictor());
  EXPECT_EQ(found.evaluated, 28U);
  EXPECT_LT(found.rows.size(), 28U);
  EXPECT_EQ(found.prior_left, 0.0);
  EXPECT_TRUE(std::isfinite(found.log_left_out_bound));
}

TEST(ExplorePairs, ACancelStopsItAndSaysSo) {
  Lamps lamps(12, {3, 8});
  lamps.search.epsilon = 0.0;
  base::CancelToken cancel;
  int calls = 0;
  const PairsFound found = explore_pairs(
      lamps.search,
      [&](std::size_t i, std::size_t j) {
        if (++calls == 3) cancel.cancel();
        return lamps.predict(i, j);
      },
      cancel);
  EXPECT_TRUE(found.cancelled);
  EXPECT_EQ(found.evaluated, 3U);
  EXPECT_GT(found.prior_left, 0.0);
  const PairsFound before = explore_pairs(lamps.search, lamps.predictor(), cancel);
  EXPECT_TRUE(before.cancelled);
  EXPECT_EQ(before.evaluated, 0U);
  EXPECT_NEAR(before.prior_left, 0.03, 1e-12);
}

TEST(ExplorePairs, PairsThatCannotBeWeighNothing) {
  Lamps lamps(5, {1, 2});
  lamps.search.epsilon = 0.0;
  const PairsFound found = explore_pairs(lamps.search, [](std::size_t, std::size_t) { return std::vector<PairRow>{}; });
  EXPECT_EQ(found.evaluated, 10U);
  EXPECT_TRUE(found.rows.empty());
  EXPECT_EQ(found.share_left_bound, 0.0);
}

TEST(ExplorePairs, EqualGuessesComeInOrderOfPosition) {
  Lamps lamps(6, {});
  for (FaultRate& fault : lamps.faults) fault.rate_per_year = 1.0;
  lamps.search.epsilon = 0.0;
  lamps.search.budget = 4;
  std::vector<std::pair<std::size_t, std::size_t>> order;
  (void)explore_pairs(lamps.search, [&](std::size_t i, std::size_t j) {
    order.emplace_back(i, j);
    return lamps.predict(i, j);
  });
  EXPECT_EQ(order, (std::vector<std::pair<std::size_t, std::size_t>>{{0, 1}, {0, 2}, {0, 3}, {0, 4}}));
}

TEST(ExplorePairs, MayStopOnTheEstimate) {
  Lamps lamps(12, {3, 8});
  lamps.search.epsilon = 0.0;
  lamps.search.epsilon_of_estimate = 0.1;
  const PairsFound found = explore_pairs(lamps.search, lamps.predictor());
  EXPECT_GT(found.evaluated, 0U);
  EXPECT_LT(found.evaluated, 10U);
  EXPECT_LT(found.share_left_estimate, 0.1);
}

TEST(ExplorePairs, FaultsThatBearOnNothingAreAddedUpAsAWhole) {
  for (const std::size_t budget : {0U, 1U}) {
    Lamps all(6, {1, 4}, 9);
    all.search.budget = budget;
    const PairsFound whole = explore_pairs(all.search, all.predictor());
    Lamps few(6, {1, 4}, 9);
    const std::vector<std::size_t> among{0, 1, 2, 3, 4, 5};
    const std::vector<Row> rows = [&] {
      std::vector<Row> some(few.rows.begin(), few.rows.begin() + 6);
      some.push_back(few.rows.back());
      return some;
    }();
    evidence::ResponseTable table(rows.size(), 6);
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < 6; ++c) table.at(r, c) = few.table.at(r < 6 ? r : few.rows.size() - 1, c);
    const LikelihoodTable likelihoods = compute_likelihoods(rows, table, few.readings, few.noise);
    const PairGuess guess(std::span(few.faults).first(6), rows, table, likelihoods, few.readings, few.noise);
    few.search.among = among;
    few.search.guess = &guess;
    few.search.budget = budget;
    const PairsFound found = explore_pairs(few.search, few.predictor());
    EXPECT_EQ(found.possible, 105U);
    ASSERT_EQ(found.evaluated, whole.evaluated);
    for (std::size_t k = 0; k < std::min<std::size_t>(found.rows.size(), 1); ++k) {
      EXPECT_EQ(found.rows[k].first, id(1));
      EXPECT_EQ(found.rows[k].second, id(4));
    }
    EXPECT_NEAR(found.prior_left, whole.prior_left, 1e-12);
    EXPECT_NEAR(found.log_left_out_bound, whole.log_left_out_bound, 1e-9);
    EXPECT_NEAR(found.share_left_estimate, whole.share_left_estimate, 1e-9 + 1e-6 * whole.share_left_estimate);
  }
}

TEST(AppendPairs, PutsThemUnderTheSingles) {
  Lamps lamps(8, {1, 5});
  const PairsFound found = explore_pairs(lamps.search, lamps.predictor());
  const std::size_t singles = lamps.rows.size();
  append_pairs(found, lamps.rows, lamps.table, lamps.likelihoods);
  ASSERT_EQ(lamps.rows.size(), singles + found.rows.size());
  EXPECT_EQ(lamps.table.rows(), lamps.rows.size());
  EXPECT_EQ(lamps.likelihoods.rows(), lamps.rows.size());
  const Posterior posterior = compute_posterior(lamps.rows, lamps.likelihoods, {found.log_left_out_bound});
  const Suspect& top = posterior.suspects[rank_suspects(posterior).front()];
  EXPECT_EQ(faults_of(top.faults), (std::vector<fault::FaultId>{id(1), id(5)}));
  // Recomputed from the joined table it is the same.
  EXPECT_EQ(posterior.row, compute_posterior(lamps.rows, lamps.table, lamps.readings, lamps.noise).row);
}

}  // namespace
}  // namespace halfsplit::infer
