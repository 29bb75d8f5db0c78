// SPDX-License-Identifier: Apache-2.0
// The groups against tests/data/facts/j1939_spn_common.csv: every group that stands there, with its acronym and period.
#include "can/j1939_groups.h"

#include <gtest/gtest.h>

#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

TEST(J1939Groups, AgreeWithThePublishedTable) {
  const std::vector<FactRow> rows = read_facts("j1939_spn_common.csv");
  EXPECT_EQ(rows.size(), 95U);
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("pg_acronym"));
    const can::J1939Group* group = can::find_j1939_group(static_cast<std::uint32_t>(row.number("pgn")));
    ASSERT_NE(group, nullptr);
    EXPECT_EQ(group->name, row.text("pg_acronym"));
    const bool asked_for = row.text("transmission_period_ms") == "on request";
    EXPECT_EQ(group->every_ms, asked_for ? 0.0 : row.number("transmission_period_ms"));
  }
}

}  // namespace
}  // namespace halfsplit::oracle
