// SPDX-License-Identifier: Apache-2.0
#include "infer/likelihood_table.h"

#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"
#include "infer/likelihood.h"
#include "infer/posterior.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;

struct Bench {
  std::vector<Row> rows = make_rows(std::vector<FaultRate>{{id(0), 1.0, 1}, {id(1), 1.0, 3}}, {});
  evidence::ResponseTable table = test::table_of({{test::number(24.0, 0.2), test::surely(0)},
                                                  {test::number(3.0, 0.1), test::surely(1)},
                                                  {test::number(9.0, 0.1), test::surely(1)},
                                                  {test::number(15.0, 0.1), test::surely(2)},
                                                  {test::number(24.0, 0.2), test::surely(0)}});
  std::vector<Reading> readings = {test::saw(Kind::kVolts, 11.0), test::saw_word(Kind::kLook, 1)};
  Noise noise;
};

TEST(LikelihoodTable, ANewReadingIsOneColumnAndTakingItBackLeavesTheOthers) {
  const Bench bench;
  const LikelihoodTable whole = compute_likelihoods(bench.rows, bench.table, bench.readings, bench.noise);
  LikelihoodTable grown(bench.rows.size());
  for (std::size_t c = 0; c < 2; ++c)
    grown.add_column(compute_column(bench.rows, bench.table, c, bench.readings[c], bench.noise));
  EXPECT_EQ(compute_posterior(bench.rows, whole).row, compute_posterior(bench.rows, grown).row);
  grown.remove_column(0);
  EXPECT_EQ(grown.columns(), 1U);
  EXPECT_EQ(grown.at(1, 0), whole.at(1, 1));
}

TEST(ComputeColumn, KnowsWhichRowsAreNeighboursInSeverity) {
  const Bench bench;
  const std::vector<double> column = compute_column(bench.rows, bench.table, 0, bench.readings[0], bench.noise);
  // 11 V lies between the second and the third severity of fault 1; row 0 is another fault, row 4 is not drawn.
  EXPECT_GT(column[2], log_likelihood(bench.table.at(2, 0), Neighbours{}, bench.readings[0], bench.noise) + 1.0);
  EXPECT_EQ(column[0], log_likelihood(bench.table.at(0, 0), Neighbours{}, bench.readings[0], bench.noise));
  EXPECT_EQ(column[1],
            log_likelihood(bench.table.at(1, 0), {nullptr, &bench.table.at(2, 0)}, bench.readings[0], bench.noise));
  EXPECT_EQ(column[4], log_likelihood_beyond_drawing(bench.table.at(4, 0), bench.readings[0], bench.noise));
}

TEST(LikelihoodTable, RefusesWhatIsOutOfStep) {
  const Bench bench;
  LikelihoodTable table(2);
  EXPECT_THROW(table.add_column({0.0}), base::Bug);
  EXPECT_THROW(table.remove_column(0), base::Bug);
  EXPECT_THROW((void)compute_column(std::vector<Row>(3), bench.table, 0, bench.readings[0], bench.noise), base::Bug);
}

}  // namespace
}  // namespace halfsplit::infer
