// SPDX-License-Identifier: Apache-2.0
#include "infer/explain.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;

// A job with its belief.
struct Job {
  Job(std::vector<Row> given, evidence::ResponseTable cells, std::vector<Reading> seen)
      : rows(std::move(given)), table(std::move(cells)), readings(std::move(seen)) {
    likelihoods = compute_likelihoods(rows, table, readings, noise);
    posterior = compute_posterior(rows, likelihoods);
  }
  [[nodiscard]] Explanations explain_all() const {
    std::vector<std::size_t> all;
    for (std::size_t s = 0; s < posterior.suspects.size(); ++s) all.push_back(s);
    return explain({rows, &table, &likelihoods, readings, noise, &posterior}, all);
  }

  std::vector<Row> rows;
  evidence::ResponseTable table;
  std::vector<Reading> readings;
  Noise noise;
  LikelihoodTable likelihoods{0};
  Posterior posterior;
};

const evidence::Prediction kLive = test::number(24.0, 0.2);
const evidence::Prediction kDead = test::number(0.0, 0.02);

// Three faults along a feed, each cutting it one point further on; readings at the points (twice at the first), the
// lamp at the end, and a point beside the feed that is always live: there the probe slipped.
Job slipped_job() {
  return Job(make_rows(std::vector<FaultRate>{{id(0), 1.0, 1}, {id(1), 1.0, 1}, {id(2), 1.0, 1}}, {}),
             test::table_of({{kDead, kDead, test::surely(2), kLive, kDead},
                             {kLive, kDead, test::surely(2), kLive, kLive},
                             {kLive, kLive, test::surely(2), kLive, kLive},
                             {kLive, kLive, test::surely(0), kLive, kLive}}),
             {test::saw(Kind::kVolts, 24.1), test::saw(Kind::kVolts, 0.01), test::saw_word(Kind::kLook, 2),
              test::saw(Kind::kVolts, 24.0), test::saw(Kind::kVolts, 0.0)});
}

// As above, but the first point was read a second time, which leaves no doubt.
Job sure_job() {
  const Job once = slipped_job();
  evidence::ResponseTable table(4, 6);
  for (std::size_t r = 0; r < 4; ++r)
    for (std::size_t c = 0; c < 6; ++c) table.at(r, c) = once.table.at(r, c % 5);
  std::vector<Reading> readings = once.readings;
  readings.push_back(test::saw(Kind::kVolts, 23.9));
  return Job(once.rows, std::move(table), std::move(readings));
}

TEST(Explain, FactorsTakeTheOddsWithoutAPieceToThoseWithIt) {
  const Job job = slipped_job();
  const Explanations out = job.explain_all();
  for (const Explanation& explanation : out.suspects)
    for (const Reason& reason : explanation.reasons) {
      LikelihoodTable without = job.likelihoods;
      without.remove_column(reason.column);
      const double before = compute_posterior(job.rows, without).suspects[explanation.suspect].probability;
      const double after = job.posterior.suspects[explanation.suspect].probability;
      EXPECT_NEAR(reason.log_ratio, std::log(after / (1.0 - after)) - std::log(before / (1.0 - before)), 1e-8);
      EXPECT_NEAR(reason.factor, std::exp(reason.log_ratio), 1e-8 * reason.factor);
    }
}

TEST(Explain, SaysWhatFitsAndWhatSpeaksAgainst) {
  const Job job = slipped_job();
  const Explanations out = job.explain_all();
  const std::vector<Reason>& middle = out.suspects[1].reasons;  // the true fault
  EXPECT_EQ(middle[0].verdict, Verdict::kFits);
  EXPECT_EQ(middle[1].verdict, Verdict::kFits);
  EXPECT_EQ(middle[3].verdict, Verdict::kNeutral);  // all predict it alike
  EXPECT_EQ(middle[4].verdict, Verdict::kSpeaksAgainst);
  EXPECT_LT(middle[4].factor, 0.5);
  EXPECT_TRUE(middle[0].predicted.known);
  EXPECT_EQ(middle[0].predicted.mean, 24.0);
  EXPECT_EQ(middle[2].predicted.category, 2);
}

TEST(Explain, NamesEveryReadingThatMayHaveSlipped) {
  // Either the first or the last reading is wrong, and it cannot be told which: both are worth repeating.
  const Explanations out = slipped_job().explain_all();
  ASSERT_EQ(out.worth_repeating.size(), 2U);
  EXPECT_EQ(out.worth_repeating[0].column, 0U);
  EXPECT_EQ(out.worth_repeating[0].top_without, 0U);
  EXPECT_EQ(out.worth_repeating[1].column, 4U);
  EXPECT_EQ(out.worth_repeating[1].top_without, 1U);
  EXPECT_TRUE(out.worth_repeating[0].belief_hangs_on_it);
}

TEST(Explain, NamesTheReadingThatContradictsTheRest) {
  // The middle fault is behind all but one reading. Belief sets that one aside; it is named all the same.
  const Job job = sure_job();
  const Explanations out = job.explain_all();
  EXPECT_EQ(rank_suspects(job.posterior).front(), 1U);
  ASSERT_EQ(out.worth_repeating.size(), 1U);
  EXPECT_EQ(out.worth_repeating[0].column, 4U);
  EXPECT_GT(out.worth_repeating[0].top_without_probability, 0.9);
  EXPECT_GT(out.worth_repeating[0].chance_of_mis_probe, 0.5);
  EXPECT_FALSE(out.worth_repeating[0].belief_hangs_on_it);
}

TEST(Explain, AConsistentJobHasNoDoubts) {
  Job job = slipped_job();
  job.readings[4] = test::saw(Kind::kVolts, 24.0);
  const Job clean(job.rows, job.table, job.readings);
  const Explanations out = clean.explain_all();
  EXPECT_TRUE(out.worth_repeating.empty());
  EXPECT_TRUE(out.unexplained.empty());
}

TEST(Explain, AReadingThatDecidesIsNotForThatInDoubt) {
  // The rarer fault leads because of one reading that it predicts well; nothing contradicts it.
  const Job job({test::row_of({id(0)}, std::log(0.7)), test::row_of({id(1)}, std::log(0.3))},
                test::table_of({{kDead}, {kLive}}), {test::saw(Kind::kVolts, 24.0)});
  EXPECT_EQ(rank_suspects(job.posterior).front(), 1U);
  EXPECT_TRUE(job.explain_all().worth_repeating.empty());
}

TEST(Explain, NamesEvidenceThatNothingExplains) {
  // 11 V where every fault gives 24 or nothing; the second reading nobody predicts at all tells nothing, and is no
  // riddle.
  const Job job(make_rows(std::vector<FaultRate>{{id(0), 1.0, 1}, {id(1), 1.0, 1}}, {}),
                test::table_of({{kDead, test::unknown()}, {kLive, test::unknown()}, {kLive, test::unknown()}}),
                {test::saw(Kind::kVolts, 11.0), test::saw(Kind::kVolts, 11.0)});
  EXPECT_EQ(job.explain_all().unexplained, (std::vector<std::size_t>{0}));
}

TEST(Explain, ALoneSuspectIsMovedByNothing) {
  const Job job({test::row_of({id(0)}, 0.0)}, test::table_of({{kLive}}), {test::saw(Kind::kVolts, 24.0)});
  const Explanations out = job.explain_all();
  EXPECT_EQ(out.suspects[0].reasons[0].verdict, Verdict::kNeutral);
  EXPECT_EQ(out.suspects[0].reasons[0].factor, 1.0);
}

TEST(Explain, RefusesTablesOutOfStep) {
  Job job = slipped_job();
  job.readings.pop_back();
  EXPECT_THROW((void)job.explain_all(), base::Bug);
}

TEST(Forecast, PutsAMixtureInShort) {
  const evidence::Prediction mixture = {
      {{0.25, true, 0.0, 0.0, {}}, {0.5, false, 100.0, 3.0, {}}, {0.25, false, 130.0, 4.0, {}}}, false};
  const Forecast number = forecast(mixture, Kind::kOhms);
  EXPECT_NEAR(number.over_range, 0.25, 1e-12);
  EXPECT_NEAR(number.mean, 110.0, 1e-12);
  // 2/3 (9 + 100) + 1/3 (16 + 400)
  EXPECT_NEAR(number.sigma, std::sqrt(634.0 / 3.0), 1e-9);
  EXPECT_FALSE(number.settled);
  const Forecast word = forecast(test::words(0.1, 0.7, 0.2), Kind::kCode);
  EXPECT_EQ(word.category, 1);
  EXPECT_NEAR(word.category_chance, 0.7, 1e-7);
  EXPECT_FALSE(forecast(test::unknown(), Kind::kCode).known);
}

}  // namespace
}  // namespace halfsplit::infer
