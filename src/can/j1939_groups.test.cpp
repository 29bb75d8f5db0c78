// SPDX-License-Identifier: Apache-2.0
// The groups against tests/data/facts/j1939_spn_common.csv: every group that stands there, with its acronym and period.
#include "can/j1939_groups.h"

#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <string>
#include <vector>

namespace halfsplit::can {
namespace {

std::vector<std::string> split(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"')
      quoted = !quoted;
    else if (c == ',' && !quoted)
      cells.emplace_back();
    else if (c != '\r')
      cells.back() += c;
  }
  return cells;
}

struct Row {
  std::uint32_t pgn = 0;
  std::string name, period;
};

std::vector<Row> rows() {
  std::ifstream in("tests/data/facts/j1939_spn_common.csv");
  std::string line;
  std::getline(in, line);
  const std::vector<std::string> head = split(line);
  std::map<std::string, std::size_t> column;
  for (std::size_t i = 0; i < head.size(); ++i) column[head[i]] = i;
  std::vector<Row> rows;
  while (std::getline(in, line)) {
    const std::vector<std::string> cells = split(line);
    rows.push_back({static_cast<std::uint32_t>(std::stoul(cells.at(column.at("pgn")))),
                    cells.at(column.at("pg_acronym")), cells.at(column.at("transmission_period_ms"))});
  }
  return rows;
}

TEST(J1939Groups, AgreeWithThePublishedTable) {
  EXPECT_EQ(rows().size(), 95U);
  for (const Row& row : rows()) {
    SCOPED_TRACE(row.name);
    const J1939Group* group = find_j1939_group(row.pgn);
    ASSERT_NE(group, nullptr);
    EXPECT_EQ(group->name, row.name);
    EXPECT_EQ(group->every_ms, row.period == "on request" ? 0.0 : std::stod(row.period));
  }
}

TEST(J1939Groups, AreInOrderAndEachIsFound) {
  std::uint32_t before = 0;
  for (const J1939Group& group : j1939_groups()) {
    EXPECT_TRUE(before < group.pgn || group.pgn == 0) << group.name;
    before = group.pgn;
    EXPECT_LE(group.pgn, 0x3FFFFU);
    EXPECT_EQ(find_j1939_group(group.pgn), &group);
    EXPECT_FALSE(group.tells.empty());
  }
  EXPECT_EQ(find_j1939_group(0xFEF0), nullptr);
  EXPECT_EQ(find_j1939_group(0x3FFFF), nullptr);
}

}  // namespace
}  // namespace halfsplit::can
