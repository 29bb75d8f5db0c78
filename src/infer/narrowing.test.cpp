// SPDX-License-Identifier: Apache-2.0
// Twin: the posterior over every row at every reading.
#include "infer/narrowing.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "infer/likelihood_table.h"
#include "infer/log_sum.h"
#include "infer/posterior.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;

constexpr std::size_t kReadings = 6;

// Faults that mostly show the healthy vehicle; a few show something else at some readings, by volts and by looks.
struct Drawn {
  std::vector<Row> rows;
  std::vector<Reading> readings;
  evidence::ResponseTable table{0, 1};
  LikelihoodTable likelihoods{0};
  Noise noise;

  Drawn(std::uint64_t seed, std::size_t faults, std::size_t looks_from = kReadings) {
    base::Rng rng(seed);
    std::vector<FaultRate> rates;
    const std::size_t culprit = rng.below(faults);
    for (std::size_t f = 0; f < faults; ++f)
      rates.push_back({test::id(f), 0.001 + rng.uniform(), f == culprit ? 1 : 1 + rng.below(4)});
    rows = make_rows(rates, {});
    table = evidence::ResponseTable(rows.size(), kReadings);
    std::vector<char> bears(faults, 0);
    for (std::size_t f = 0; f < faults; ++f) bears[f] = rng.chance(0.1) || f == culprit ? 1 : 0;
    for (std::size_t c = 0; c < kReadings; ++c) {
      const bool look = c >= looks_from;
      double seen = 12.0;
      for (std::size_t r = 0; r < rows.size(); ++r) {
        const bool is_culprit = !is_not_drawn(rows[r]) && rows[r].first == test::id(culprit);
        const bool moves =
            is_culprit || (!is_not_drawn(rows[r]) && bears[rows[r].first.index()] != 0 && rng.chance(0.7));
        const double mean = moves ? 24.0 * rng.uniform() : 24.0;
        if (is_culprit) seen = mean;
        table.at(r, c) = look ? test::surely(moves ? 2 : 0) : test::number(mean, 0.05);
      }
      readings.push_back(look ? test::saw_word(Kind::kLook, 2) : test::saw(Kind::kVolts, seen + 0.03 * rng.normal()));
    }
    likelihoods = compute_likelihoods(rows, table, readings, noise);
  }

  // Answers everything that is asked; how many cells were looked at.
  std::size_t answer(Narrowing& narrowing) const {
    std::size_t looked = 0;
    for (;;) {
      const std::vector<std::vector<std::size_t>> asked = narrowing.next();
      std::size_t some = 0;
      for (std::size_t c = 0; c < asked.size(); ++c)
        for (const std::size_t g : asked[c]) {
          EXPECT_FALSE(narrowing.is_known(g, c));
          const RowGroup& group = narrowing.groups()[g];
          narrowing.set(g, c, likelihoods.column(c).subspan(group.first, group.count));
          some += group.count;
        }
      if (some == 0) return looked;
      looked += some;
    }
  }
};

double mass_of_incomplete(const Drawn& drawn, const Narrowing& narrowing, std::size_t without) {
  const std::vector<double> joint = log_joint(drawn.rows, drawn.likelihoods, without);
  std::vector<double> terms;
  for (std::size_t g = 0; g < narrowing.groups().size(); ++g)
    for (std::size_t k = 0; k < narrowing.groups()[g].count && !narrowing.is_complete(g); ++k)
      terms.push_back(joint[narrowing.groups()[g].first + k]);
  return log_sum_exp(terms);
}

TEST(Narrowing, WhatIsSetAsideHoldsNextToNoBelief) {
  std::size_t cells = 0, all_cells = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    const bool looks = seed % 3 == 0;  // a word can be misread: little is set aside then
    const Drawn drawn(seed, 800, looks ? 0 : kReadings);
    Narrowing narrowing(drawn.rows, drawn.readings, drawn.noise);
    const std::size_t looked = drawn.answer(narrowing);
    const double all = compute_posterior(drawn.rows, drawn.likelihoods).log_evidence;
    const double aside = mass_of_incomplete(drawn, narrowing, kNoColumn);
    EXPECT_LE(aside, narrowing.log_left_out() + 1e-9) << seed;
    EXPECT_LE(std::exp(aside - all), 1e-7) << seed;
    cells += looks ? 0 : looked;
    all_cells += looks ? 0 : drawn.rows.size() * kReadings;
  }
  EXPECT_LT(cells, all_cells * 3 / 4);
}

TEST(Narrowing, NorWithAnyOneReadingLeftOut) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const Drawn drawn(seed, 400);
    Narrowing narrowing(drawn.rows, drawn.readings, drawn.noise);
    (void)drawn.answer(narrowing);
    for (std::size_t c = 0; c < kReadings; ++c) {
      const double all = log_sum_exp(log_joint(drawn.rows, drawn.likelihoods, c));
      EXPECT_LE(std::exp(mass_of_incomplete(drawn, narrowing, c) - all), 1e-3) << seed << " without " << c;
    }
  }
}

TEST(Narrowing, OneMoreReadingIsPutToFewOnly) {
  std::size_t cells = 0, rows = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Drawn drawn(seed, 1000);
    Narrowing before(drawn.rows, std::span(drawn.readings).first(kReadings - 1), drawn.noise);
    (void)drawn.answer(before);
    Narrowing after(drawn.rows, drawn.readings, drawn.noise);
    for (std::size_t g = 0; g < before.groups().size(); ++g)
      for (std::size_t c = 0; c + 1 < kReadings; ++c)
        if (before.is_known(g, c))
          after.set(g, c, drawn.likelihoods.column(c).subspan(before.groups()[g].first, before.groups()[g].count));
    cells += drawn.answer(after);
    rows += drawn.rows.size();
  }
  EXPECT_LT(cells, rows / 2);
}

// The one fault explains all but one reading, which another explains that is against all the rest.
TEST(Narrowing, AReadingThatTheLeaderDoesNotExplainIsPutToAll) {
  Drawn drawn(3, 300);
  for (std::size_t r = 0; r < drawn.rows.size(); ++r)
    for (std::size_t c = 0; c < kReadings; ++c) {
      const std::size_t fault = is_not_drawn(drawn.rows[r]) ? 300 : drawn.rows[r].first.index();
      drawn.table.at(r, c) = test::number((fault == 7 && c != 5) || (fault == 9 && c == 5) ? 3.0 : 24.0, 0.05);
    }
  for (Reading& reading : drawn.readings) reading.seen.value = 3.0;
  drawn.likelihoods = compute_likelihoods(drawn.rows, drawn.table, drawn.readings, drawn.noise);
  Narrowing narrowing(drawn.rows, drawn.readings, drawn.noise);
  (void)drawn.answer(narrowing);
  for (std::size_t g = 0; g < narrowing.groups().size(); ++g) EXPECT_TRUE(narrowing.is_known(g, 5)) << g;
}

TEST(Differ, ByWhatCouldBeTold) {
  using test::number;
  EXPECT_FALSE(differ(number(24.0, 0.1), number(24.05, 0.1), Kind::kVolts));
  EXPECT_TRUE(differ(number(24.0, 0.1), number(24.05, 0.1), Kind::kVolts, 0.1));
  EXPECT_TRUE(differ(number(24.0, 0.1), number(24.2, 0.1), Kind::kVolts));
  EXPECT_TRUE(differ(number(24.0, 0.1), test::over_range(), Kind::kOhms));
  EXPECT_FALSE(differ(test::over_range(), test::over_range(), Kind::kOhms));
  EXPECT_TRUE(differ(test::words(0.9, 0.1), test::words(0.5, 0.5), Kind::kCode));
  EXPECT_TRUE(differ(number(24.0, 0.1), test::unknown(), Kind::kVolts));
}

}  // namespace
}  // namespace halfsplit::infer
