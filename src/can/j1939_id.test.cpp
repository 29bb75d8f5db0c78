// SPDX-License-Identifier: Apache-2.0
// Published identifiers are held against this in tests/frames.
#include "can/j1939_id.h"

#include <gtest/gtest.h>

#include "base/rng.h"

namespace halfsplit::can {
namespace {

TEST(J1939Id, AGroupForAllHasNoDestination) {
  const J1939Id id = split_j1939_id(0x18FEF100);
  EXPECT_EQ(id.priority, 6);
  EXPECT_EQ(id.pgn(), 0xFEF1U);
  EXPECT_FALSE(id.addressed());
  EXPECT_EQ(id.destination(), kGlobalAddress);
  EXPECT_EQ(id.source, 0x00);
}

TEST(J1939Id, AnAddressedGroupKeepsItsDestinationApart) {
  const J1939Id id = split_j1939_id(0x18EA00F9);
  EXPECT_EQ(id.pgn(), kPgnRequest);
  EXPECT_TRUE(id.addressed());
  EXPECT_EQ(id.destination(), 0x00);
  EXPECT_EQ(id.source, 0xF9);
  EXPECT_TRUE(split_j1939_id(0x18EFFF00).addressed());
  EXPECT_FALSE(split_j1939_id(0x18F0FF00).addressed());
}

TEST(J1939Id, PagesArePartOfTheGroup) {
  EXPECT_EQ(split_j1939_id(0x19F21401).pgn(), 0x1F214U);
  EXPECT_EQ(split_j1939_id(0x1AF21401).pgn(), 0x2F214U);
  EXPECT_TRUE(split_j1939_id(0x1AF21401).extended_data_page);
  EXPECT_FALSE(split_j1939_id(0x1AF21401).data_page);
}

// Any 29 bits come together again; the short cuts say the same.
TEST(J1939Id, SplitAndJoinedAreOne) {
  base::Rng rng(939);
  for (int round = 0; round < 20'000; ++round) {
    const auto number = static_cast<std::uint32_t>(rng.below(0x20000000));
    const J1939Id id = split_j1939_id(number);
    ASSERT_EQ(join_j1939_id(id), number);
    ASSERT_EQ(j1939_pgn(number), id.pgn());
    ASSERT_EQ(j1939_source(number), id.source);
    ASSERT_EQ(make_j1939_id(id.pgn(), id.source, id.destination(), id.priority), id);
    ASSERT_LE(id.pgn(), kLargestPgn);
    ASSERT_TRUE(!id.addressed() || (id.pgn() & 0xFF) == 0);
  }
}

TEST(J1939Id, ProprietaryGroups) {
  for (const std::uint32_t pgn : {0xEF00U, 0x1EF00U, 0xFF00U, 0xFFFFU, 0x1FF00U, 0x1FFFFU}) {
    EXPECT_TRUE(is_proprietary(pgn)) << pgn;
  }
  for (const std::uint32_t pgn : {0xEE00U, 0xFEFFU, 0xF0FFU, 0x2FF00U, 0x2EF00U})
    EXPECT_FALSE(is_proprietary(pgn)) << pgn;
}

}  // namespace
}  // namespace halfsplit::can
