// SPDX-License-Identifier: Apache-2.0
// The list itself; its figures are checked in tests/oracle/j1939_groups.test.cpp.
#include "can/j1939_groups.h"

#include <gtest/gtest.h>

namespace halfsplit::can {
namespace {

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
