// SPDX-License-Identifier: Apache-2.0
#include "infer/groups.h"

#include <gtest/gtest.h>

#include <cmath>

#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using test::id;

fault::RepairId repair(std::size_t index) { return fault::RepairId(index); }

TEST(GroupByRepair, AddsUpWhatOneRepairMends) {
  const std::vector<Row> rows = {
      test::row_of({id(0)}, std::log(0.3)),         test::row_of({id(1)}, std::log(0.35)),
      test::row_of({id(2)}, std::log(0.15)),        test::row_of({id(0), id(2)}, std::log(0.1)),
      test::row_of({id(1), id(2)}, std::log(0.06)), test::row_of({}, std::log(0.04))};
  const Posterior posterior = compute_posterior(rows, LikelihoodTable(rows.size()));
  const std::vector<fault::RepairId> repair_of = {repair(7), repair(3), repair(7)};
  const std::vector<RepairGroup> groups = group_by_repair(posterior, repair_of);
  ASSERT_EQ(groups.size(), 4U);
  EXPECT_EQ(groups[0].repairs, (std::vector<fault::RepairId>{repair(7)}));
  EXPECT_EQ(groups[0].suspects, (std::vector<std::size_t>{0, 2, 3}));  // a pair mended by one repair is in
  EXPECT_NEAR(groups[0].probability, 0.55, 1e-12);
  EXPECT_EQ(groups[1].repairs, (std::vector<fault::RepairId>{repair(3)}));
  EXPECT_EQ(groups[2].repairs, (std::vector<fault::RepairId>{repair(3), repair(7)}));
  EXPECT_TRUE(groups[3].repairs.empty());
}

TEST(Distance, IsTheBestSingleTest) {
  const Outcomes a = {{0.5, 0.5}, {0.9, 0.1}, {}};
  const Outcomes b = {{0.5, 0.5}, {0.2, 0.8}, {1.0, 0.0}};
  EXPECT_NEAR(distance(a, b), 0.7, 1e-12);
  EXPECT_EQ(distance(a, a), 0.0);
}

TEST(GroupAlike, JoinsWhatNoTestTellsApart) {
  // Hypotheses 0 and 2 show the same everywhere; 1 differs from them in the second test; 3 in both.
  const std::vector<Outcomes> outcomes = {
      {{1.0, 0.0}, {0.0, 1.0}}, {{1.0, 0.0}, {1.0, 0.0}}, {{0.99, 0.01}, {0.0, 1.0}}, {{0.0, 1.0}, {0.5, 0.5}}};
  const std::vector<AlikeGroup> groups = group_alike(std::vector<double>{0.1, 0.3, 0.4, 0.2}, outcomes);
  ASSERT_EQ(groups.size(), 3U);
  EXPECT_EQ(groups[0].leader, 2U);
  EXPECT_EQ(groups[0].members, (std::vector<std::size_t>{0, 2}));
  EXPECT_NEAR(groups[0].probability, 0.5, 1e-12);
  EXPECT_EQ(groups[1].members, (std::vector<std::size_t>{1}));
}

TEST(GroupAlike, DoesNotChainNeighbours) {
  // Each step is within 0.05, the ends are 0.08 apart.
  const std::vector<Outcomes> outcomes = {{{0.50, 0.50}}, {{0.54, 0.46}}, {{0.58, 0.42}}};
  const std::vector<AlikeGroup> groups = group_alike(std::vector<double>{0.5, 0.3, 0.2}, outcomes);
  ASSERT_EQ(groups.size(), 2U);
  EXPECT_EQ(groups[0].members, (std::vector<std::size_t>{0, 1}));
  EXPECT_EQ(groups[1].members, (std::vector<std::size_t>{2}));
}

}  // namespace
}  // namespace halfsplit::infer
