// SPDX-License-Identifier: Apache-2.0
// Places things one above the other, each as near as it gets to where it would like to be.
#pragma once

#include <utility>
#include <vector>

namespace halfsplit::report {

struct StackItem {
  int below = 0;                            // its top lies at least this far below the top of the one before
  std::vector<std::pair<int, int>> wishes;  // (top, weight); none: anywhere
};

// The tops, in order, that make the sum of weight x |top - wish| least while every distance is kept. When the wishes
// are whole multiples of a grid and the distances too, so are the tops.
[[nodiscard]] std::vector<int> place_stack(const std::vector<StackItem>& items);

}  // namespace halfsplit::report
