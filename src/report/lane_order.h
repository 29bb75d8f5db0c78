// SPDX-License-Identifier: Apache-2.0
// Puts things that are joined to each other next to each other in a line.
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::report {

// The order of 0..n-1 that makes the sum of weight x distance small; weights are symmetric, n x n, and not negative.
// Exact up to kMostExactLanes, a local search above. Of an order and its mirror image, the one with `front` (an index,
// or any larger number for none) nearer to the beginning; deterministic.
[[nodiscard]] std::vector<std::size_t> arrange_in_line(const std::vector<std::vector<int>>& weights, std::size_t front);

inline constexpr std::size_t kMostExactLanes = 12;

}  // namespace halfsplit::report
