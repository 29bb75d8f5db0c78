// SPDX-License-Identifier: Apache-2.0
// Spreads the boxes of one lane over columns.
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::report {

struct DepthBox {
  int height = 0;
  double turned = 0.0;     // price of drawing its slots 0 and 1 to the same side
  double one_sided = 0.0;  // price of drawing all its wires to the same side
  double detour = 0.0;     // its slots 0 and 1 look to opposite sides: price of each wire that must lead round it
};

// A wire between two boxes of the lane, or from one to what lies left or right of the lane.
struct DepthWire {
  std::size_t box[2] = {0, 0};   // box[1] may be kLeftOut or kRightOut
  std::size_t slot[2] = {0, 0};  // of box[0], box[1]
};
inline constexpr std::size_t kLeftOut = static_cast<std::size_t>(-2), kRightOut = static_cast<std::size_t>(-3);

// A column for every box, from 0 up without gaps: wires run between neighbouring columns where they can, boxes
// with two ends lie in their run, and no column grows much higher than the others. `start` is improved; deterministic.
[[nodiscard]] std::vector<std::size_t> spread_lane(const std::vector<DepthBox>& boxes,
                                                   const std::vector<DepthWire>& wires, std::vector<std::size_t> start);

}  // namespace halfsplit::report
