// SPDX-License-Identifier: Apache-2.0
// Hundreds of lit filaments on one feed: what moves them all together is found without an update for each, and is what
// a fresh factorisation finds. A filament within 0.3 % of its rated volts keeps its tangent: 1e-6 of its current.
#include <gtest/gtest.h>

#include "electrical/both_paths.h"

namespace halfsplit::electrical {
namespace {

using circuit::EndPoint;
using circuit::PartId;
using circuit::PartKind;
using circuit::WireId;
using test::Both;

constexpr double kOfItself = 2.0e-6;
constexpr double kWatts[] = {2.0, 5.0, 10.0};

struct LampBoard : test::FedLoom {
  explicit LampBoard(int lamps) {
    const EndPoint board = made.at(made.splice("BOARD"));
    made.wire(feed, board, 0.01);
    for (int i = 0; i < lamps; ++i) {
      const PartId lamp = made.part(PartKind::kLamp, "L" + std::to_string(i), {{"watt", kWatts[i % 3]}}, false);
      to_lamp.push_back(made.wire(board, at(lamp, "1"), 0.05));
      join(at(lamp, "2"), made.chassis());
    }
    const PartId fuse = made.part(PartKind::kFuse, "F1", {{"rating_a", 20.0}}, false);
    made.wire(board, at(fuse, "1"), 0.01);
    const EndPoint dead_end = made.at(made.splice("END"));
    behind_fuse = made.wire(at(fuse, "2"), dead_end, 0.01);
    ground = made.wire(made.chassis(), made.at(made.splice("EARTH")), 0.01);
  }
  WireId behind_fuse, ground;
  std::vector<WireId> to_lamp;
};

// What lies behind the fuse chafes to ground.
void chafe(Both& both, const LampBoard& board, double ohm) {
  both.touch(board.behind_fuse, board.ground);
  both.changes.back().value = ohm;
}

// 20 A that melt nothing: all stand lower for good.
TEST(Filaments, APullOnTheFeedMovesAllToWhereAFreshFactorisationHasThem) {
  const LampBoard board(200);
  Both both(board.made.loom);
  chafe(both, board, 1.2);
  both.expect_alike(kOfItself);
  EXPECT_EQ(both.refactored(), 0U);
  const std::size_t lamp = both.netlist.wire_elements.at(board.to_lamp.front().index()).index();
  const double now = both.bench.amperes(lamp);
  both.bench.clear();
  EXPECT_LT(now, 0.999 * both.bench.amperes(lamp)) << "the pull is one that filaments feel";
}

// More filaments than an update for each could be: they come back when the fuse has melted.
TEST(Filaments, AShortPullsAllDownUntilItsFuseMelts) {
  const LampBoard board(600);
  Both both(board.made.loom);
  chafe(both, board, 0.3);
  both.expect_alike(kOfItself);
  EXPECT_EQ(both.refactored(), 0U);
  EXPECT_LT(both.bench.counts().updates, 60U);
}

// More of them than that, and for good: one factorisation, from where they stand.
TEST(Filaments, TooManyToCountGetAFactorisationOfTheirOwn) {
  const LampBoard board(600);
  Both both(board.made.loom);
  chafe(both, board, 1.2);
  both.expect_alike(kOfItself);
  EXPECT_EQ(both.refactored(), 1U);
}

// Those that lose their own feed are no part of the common movement.
TEST(Filaments, SomeThatGoOutDoNotHoldTheOthersUp) {
  const LampBoard board(200);
  Both both(board.made.loom);
  chafe(both, board, 0.3);
  for (std::size_t i = 0; i < 40; ++i) both.open(board.to_lamp[4 * i]);
  both.expect_alike(kOfItself);
  EXPECT_EQ(both.refactored(), 0U);
}

}  // namespace
}  // namespace halfsplit::electrical
