// SPDX-License-Identifier: Apache-2.0
#include "report/lane_depths.h"

#include <gtest/gtest.h>

namespace halfsplit::report {
namespace {

using Depths = std::vector<std::size_t>;

TEST(LaneDepths, AChainRunsAcross) {
  const std::vector<DepthBox> boxes(3, {60, 12.0, 0.0, 0.0});
  const std::vector<DepthWire> wires = {
      {{0, kLeftOut}, {0, 0}}, {{0, 1}, {1, 0}}, {{1, 2}, {1, 0}}, {{2, kRightOut}, {1, 0}}};
  EXPECT_EQ(spread_lane(boxes, wires, {0, 0, 0}), (Depths{0, 1, 2}));
}

TEST(LaneDepths, ColumnsAreNumberedWithoutGaps) {
  const std::vector<DepthBox> boxes(2, {60, 0.0, 0.0, 0.0});
  EXPECT_EQ(spread_lane(boxes, {{{0, 1}, {0, 0}}}, {3, 9}), (Depths{0, 1}));
  EXPECT_TRUE(spread_lane({}, {}, {}).empty());
}

TEST(LaneDepths, AHighPileIsSpread) {
  const std::vector<DepthBox> boxes(40, {100, 0.0, 0.0, 0.0});
  const Depths depths = spread_lane(boxes, {}, Depths(40, 0));
  Depths count(40, 0);
  for (const std::size_t depth : depths) ++count[depth];
  EXPECT_LT(*std::max_element(count.begin(), count.end()), 15U);
}

// A splice between what comes from the left and a ground: the ground goes to the far side.
TEST(LaneDepths, AGroundStandsBehindItsSplice) {
  const std::vector<DepthBox> boxes = {
      {60, 12.0, 0.0, 0.0}, {60, 12.0, 0.0, 0.0}, {30, 0.0, 11.0, 0.0}, {60, 0.0, 0.0, 0.0}};
  const std::vector<DepthWire> wires = {
      {{0, kLeftOut}, {0, 0}}, {{1, kLeftOut}, {0, 0}}, {{0, 2}, {1, 0}}, {{1, 2}, {1, 0}}, {{2, 3}, {0, 0}}};
  EXPECT_EQ(spread_lane(boxes, wires, {0, 0, 1, 0}), (Depths{0, 0, 1, 2}));
}

}  // namespace
}  // namespace halfsplit::report
