// SPDX-License-Identifier: Apache-2.0
#include "infer/posterior.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/check.h"
#include "base/rng.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;
constexpr std::uint64_t kPosteriorSeed = 7;

double sum_of(const std::vector<double>& values) { return std::accumulate(values.begin(), values.end(), 0.0); }

// A random job: faults of several severities, some pairs, readings of all kinds.
struct RandomJob {
  explicit RandomJob(base::Rng& rng) {
    std::vector<FaultRate> faults;
    for (std::size_t i = 0; i < 6; ++i) faults.push_back({id(i), rng.log_uniform(1e-3, 1.0), 1 + rng.below(4)});
    rows = make_rows(faults, {});
    const PairPrior pairs(faults, {});
    for (std::size_t i = 1; i < 6; ++i) rows.push_back(test::row_of({id(0), id(i)}, pairs.log_prior(0, i)));
    table = evidence::ResponseTable(rows.size(), 5);
    readings = {test::saw(Kind::kVolts, 24.0 * rng.uniform()),
                test::saw_word(Kind::kLook, static_cast<int>(rng.below(3))), test::saw_over_range(Kind::kOhms),
                test::saw(Kind::kOhms, rng.log_uniform(0.1, 1e4)),
                test::saw_word(Kind::kCode, static_cast<int>(rng.below(3)))};
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < 5; ++c) table.at(r, c) = prediction(rng, readings[c].kind);
  }
  static evidence::Prediction prediction(base::Rng& rng, Kind kind) {
    if (rng.chance(0.1)) return test::unknown();
    if (kind == Kind::kVolts) return test::number(24.0 * rng.uniform(), 0.2);
    if (kind == Kind::kOhms) return rng.chance(0.4) ? test::over_range() : test::number(rng.log_uniform(0.1, 1e4), 1.0);
    const double a = rng.uniform(), b = (1.0 - a) * rng.uniform();
    return test::words(a, b, 1.0 - a - b);
  }

  std::vector<Row> rows;
  evidence::ResponseTable table{0, 0};
  std::vector<Reading> readings;
};

TEST(Posterior, IsBayesRule) {
  // Two faults, equally likely; a look that one makes certain (0.99 + 0.01 * broad 0.35) and the other gives one in
  // ten.
  const std::vector<Row> rows = {test::row_of({id(0)}, std::log(0.5)), test::row_of({id(1)}, std::log(0.5))};
  const evidence::ResponseTable table = test::table_of({{test::surely(2)}, {test::words(0.9, 0.0, 0.1)}});
  const std::vector<Reading> readings = {test::saw_word(Kind::kLook, 2)};
  const Posterior posterior = compute_posterior(rows, table, readings, Noise{});
  const double first = 0.99 + 0.0035, second = 0.099 + 0.0035;
  EXPECT_NEAR(posterior.fault[0], first / (first + second), 1e-7);
  EXPECT_NEAR(posterior.log_evidence, std::log(0.5 * (first + second)), 1e-7);
}

TEST(Posterior, WithoutEvidenceIsThePrior) {
  const std::vector<Row> rows = make_rows(std::vector<FaultRate>{{id(0), 3.0, 1}, {id(1), 1.0, 4}}, {0.0, 0.05});
  const Posterior posterior = compute_posterior(rows, LikelihoodTable(rows.size()));
  EXPECT_NEAR(posterior.fault[0], 0.95 * 0.75, 1e-12);
  EXPECT_NEAR(posterior.fault[1], 0.95 * 0.25, 1e-12);
  EXPECT_NEAR(posterior.not_drawn, 0.05, 1e-12);
  ASSERT_EQ(posterior.suspects.size(), 3U);
  EXPECT_EQ(posterior.suspects[1].rows.size(), 4U);
  EXPECT_EQ(rank_suspects(posterior), (std::vector<std::size_t>{0, 1, 2}));
}

TEST(Posterior, MarginalsAddPairsAndSeverities) {
  const std::vector<Row> rows = {test::row_of({id(0)}, std::log(0.2)),
                                 test::row_of({id(0), id(2)}, std::log(0.3)),
                                 test::row_of({id(1)}, std::log(0.1)),
                                 test::row_of({id(2), id(0)}, std::log(0.1)),
                                 test::row_of({id(0), id(1), id(2)}, std::log(0.25)),
                                 test::row_of({}, std::log(0.05))};
  const Posterior posterior = compute_posterior(rows, LikelihoodTable(rows.size()));
  EXPECT_NEAR(posterior.fault[0], 0.85, 1e-12);
  EXPECT_NEAR(posterior.fault[1], 0.35, 1e-12);
  EXPECT_NEAR(posterior.fault[2], 0.65, 1e-12);
  ASSERT_EQ(posterior.suspects.size(), 5U);  // {0, 2} and {2, 0} are one
  EXPECT_NEAR(posterior.suspects[1].probability, 0.4, 1e-12);
}

TEST(Posterior, SumsToOneHoweverUnlikelyTheEvidence) {
  base::Rng rng(kPosteriorSeed);
  for (int k = 0; k < 50; ++k) {
    RandomJob job(rng);
    EXPECT_NEAR(sum_of(compute_posterior(job.rows, job.table, job.readings, Noise{}).row), 1.0, 1e-12);
    // Pure logic and a reading nobody predicts, many times over.
    evidence::ResponseTable table(job.rows.size(), 9);
    for (std::size_t r = 0; r < job.rows.size(); ++r)
      for (std::size_t c = 0; c < 9; ++c) table.at(r, c) = test::surely(0);
    const std::vector<Reading> nine(9, test::saw_word(Kind::kCode, 2));
    EXPECT_NEAR(sum_of(compute_posterior(job.rows, table, nine, test::no_noise()).row), 1.0, 1e-12);
  }
}

TEST(Posterior, OrderOfEvidenceDoesNotMatter) {
  base::Rng rng(kPosteriorSeed);
  for (int k = 0; k < 50; ++k) {
    const RandomJob job(rng);
    const Posterior straight = compute_posterior(job.rows, job.table, job.readings, Noise{});
    evidence::ResponseTable turned(job.rows.size(), 5);
    for (std::size_t r = 0; r < job.rows.size(); ++r)
      for (std::size_t c = 0; c < 5; ++c) turned.at(r, c) = job.table.at(r, 4 - c);
    const std::vector<Reading> readings(job.readings.rbegin(), job.readings.rend());
    const Posterior backward = compute_posterior(job.rows, turned, readings, Noise{});
    for (std::size_t r = 0; r < job.rows.size(); ++r)
      EXPECT_NEAR(straight.row[r], backward.row[r], 1e-12) << "seed " << kPosteriorSeed;
    EXPECT_NEAR(straight.log_evidence, backward.log_evidence, 1e-11);
  }
}

TEST(Posterior, RelabellingFaultsAndMovingThemDoesNotMatter) {
  base::Rng rng(kPosteriorSeed);
  for (int k = 0; k < 50; ++k) {
    RandomJob job(rng);
    for (Row& row : job.rows) row.follows = false;  // rows then stand alone and may be moved singly
    const Posterior straight = compute_posterior(job.rows, job.table, job.readings, Noise{});
    const std::size_t count = job.rows.size();
    std::vector<Row> rows(count);
    evidence::ResponseTable table(count, 5);
    const auto renamed = [](fault::FaultId fault) { return fault.is_none() ? fault : id(20 - fault.index()); };
    for (std::size_t r = 0; r < count; ++r) {
      rows[count - 1 - r] = job.rows[r];
      rows[count - 1 - r].first = renamed(job.rows[r].first);
      rows[count - 1 - r].second = renamed(job.rows[r].second);
      for (std::size_t c = 0; c < 5; ++c) table.at(count - 1 - r, c) = job.table.at(r, c);
    }
    const Posterior moved = compute_posterior(rows, table, job.readings, Noise{});
    for (std::size_t i = 0; i < 6; ++i)
      EXPECT_NEAR(straight.fault[i], moved.fault[20 - i], 1e-12) << "seed " << kPosteriorSeed;
    EXPECT_NEAR(straight.not_drawn, moved.not_drawn, 1e-12);
  }
}

TEST(Posterior, EvidenceThatTellsNothingChangesNothing) {
  base::Rng rng(kPosteriorSeed);
  for (int k = 0; k < 50; ++k) {
    const RandomJob job(rng);
    const Posterior before = compute_posterior(job.rows, job.table, job.readings, Noise{});
    LikelihoodTable likelihoods = compute_likelihoods(job.rows, job.table, job.readings, Noise{});
    evidence::ResponseTable alike(job.rows.size(), 1);  // unknown to every hypothesis
    for (int copies = 0; copies < 3; ++copies)
      likelihoods.add_column(compute_column(job.rows, alike, 0, test::saw(Kind::kVolts, 3.0), Noise{}));
    const Posterior after = compute_posterior(job.rows, likelihoods);
    for (std::size_t r = 0; r < job.rows.size(); ++r)
      EXPECT_NEAR(before.row[r], after.row[r], 1e-12) << "seed " << kPosteriorSeed;
  }
}

TEST(Posterior, OneContradictoryReadingCannotSinkTheTrueFault) {
  // The stated floor: its odds against everything else fall by no more than worst_factor.
  base::Rng rng(kPosteriorSeed);
  for (int k = 0; k < 200; ++k) {
    const RandomJob job(rng);
    const Noise noise;
    LikelihoodTable likelihoods = compute_likelihoods(job.rows, job.table, job.readings, noise);
    const Posterior before = compute_posterior(job.rows, likelihoods);
    evidence::ResponseTable column(job.rows.size(), 1);
    for (std::size_t r = 0; r < job.rows.size(); ++r)
      column.at(r, 0) = r == 0 ? test::number(24.0, 0.01) : test::number(0.0, rng.uniform() * 0.01);
    const Reading slip = test::saw(Kind::kVolts, 0.0);
    likelihoods.add_column(compute_column(job.rows, column, 0, slip, noise));
    const Posterior after = compute_posterior(job.rows, likelihoods);
    const double odds_before = before.row[0] / (1.0 - before.row[0]);
    const double odds_after = after.row[0] / (1.0 - after.row[0]);
    EXPECT_GE(odds_after, odds_before * worst_factor(slip, noise) * (1.0 - 1e-9)) << "seed " << kPosteriorSeed;
  }
}

TEST(Posterior, ASuspectWithAFifthOfBeliefSurvivesOneSlipAndLeadsAgainAfterTwoGoodReadings) {
  const std::vector<Row> rows = {test::row_of({id(0)}, std::log(0.5)), test::row_of({id(1)}, std::log(0.5))};
  const evidence::ResponseTable table =
      test::table_of({{test::number(24.0, 0.2), test::number(24.0, 0.2), test::number(24.0, 0.2)},
                      {test::number(0.0, 0.02), test::number(0.0, 0.02), test::number(0.0, 0.02)}});
  const std::vector<Reading> readings = {test::saw(Kind::kVolts, 0.0), test::saw(Kind::kVolts, 24.1),
                                         test::saw(Kind::kVolts, 23.9)};
  EXPECT_GT(compute_posterior(rows, table, readings, Noise{}).fault[0], 0.9);
}

TEST(Posterior, BeyondTheDrawingGainsWhenEverythingDrawnReadsHealthy) {
  // One single fault, all of whose readings would be off; the meter shows a healthy circuit four times.
  const std::vector<Row> rows = make_rows(std::vector<FaultRate>{{id(0), 1.0, 1}}, {});
  const evidence::Prediction healthy = test::number(24.0, 0.2), faulty = test::number(0.0, 0.02);
  const evidence::ResponseTable table =
      test::table_of({{faulty, faulty, faulty, faulty}, {healthy, healthy, healthy, healthy}});
  const std::vector<Reading> readings(4, test::saw(Kind::kVolts, 24.05));
  EXPECT_GT(compute_posterior(rows, table, readings, Noise{}).not_drawn, 0.99);
}

TEST(Posterior, SaysHowMuchMayBeElsewhere) {
  const std::vector<Row> rows = {test::row_of({id(0)}, std::log(0.97))};
  PosteriorOptions options;
  options.log_left_out = std::log(0.03);
  EXPECT_NEAR(compute_posterior(rows, LikelihoodTable(1), options).unexplored, 0.03, 1e-12);
  EXPECT_EQ(compute_posterior(rows, LikelihoodTable(1)).unexplored, 0.0);
}

TEST(Posterior, NoRowsIsABug) { EXPECT_THROW((void)compute_posterior({}, LikelihoodTable(0)), base::Bug); }

}  // namespace
}  // namespace halfsplit::infer
