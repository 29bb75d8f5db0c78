// SPDX-License-Identifier: Apache-2.0
// The idea: the sum of weight x distance is the sum, over every gap of the line, of the weight that crosses the gap. So
// best(S) = cut(S) + min over the last one of best(S without it): minimum linear arrangement by dynamic programming
// over subsets (common practice; from memory). Above kMostExactLanes one at a time is moved to where it costs least,
// until nothing gets better.
#include "report/lane_order.h"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <numeric>

namespace halfsplit::report {

namespace {

using Weights = std::vector<std::vector<int>>;

long cost_of(const Weights& weights, const std::vector<std::size_t>& order) {
  long cost = 0;
  for (std::size_t i = 0; i < order.size(); ++i)
    for (std::size_t k = i + 1; k < order.size(); ++k) cost += static_cast<long>(k - i) * weights[order[i]][order[k]];
  return cost;
}

std::vector<std::size_t> arrange_exactly(const Weights& weights) {
  const std::size_t n = weights.size();
  const std::size_t sets = std::size_t{1} << n;
  std::vector<long> best(sets, std::numeric_limits<long>::max());
  std::vector<std::uint8_t> last(sets, 0);
  best[0] = 0;
  for (std::size_t set = 1; set < sets; ++set) {
    long cut = 0;
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t k = 0; k < n; ++k)
        if ((set >> i & 1U) != 0 && (set >> k & 1U) == 0) cut += weights[i][k];
    for (std::size_t i = 0; i < n; ++i) {
      if ((set >> i & 1U) == 0) continue;
      const long cost = best[set & ~(std::size_t{1} << i)] + cut;
      if (cost > best[set] || (cost == best[set] && last[set] >= i)) continue;
      best[set] = cost;
      last[set] = static_cast<std::uint8_t>(i);
    }
  }
  std::vector<std::size_t> order(n);
  for (std::size_t set = sets - 1, at = n; at > 0; --at) {
    order[at - 1] = last[set];
    set &= ~(std::size_t{1} << last[set]);
  }
  return order;
}

bool improve(const Weights& weights, std::vector<std::size_t>& order) {
  long best = cost_of(weights, order);
  const long before = best;
  for (std::size_t from = 0; from < order.size(); ++from)
    for (std::size_t to = 0; to < order.size(); ++to) {
      std::vector<std::size_t> moved = order;
      const std::size_t one = moved[from];
      moved.erase(moved.begin() + static_cast<std::ptrdiff_t>(from));
      moved.insert(moved.begin() + static_cast<std::ptrdiff_t>(to), one);
      const long cost = cost_of(weights, moved);
      if (cost >= best) continue;
      best = cost;
      order = std::move(moved);
    }
  return best < before;
}

std::vector<std::size_t> arrange_by_moves(const Weights& weights) {
  std::vector<std::size_t> order(weights.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (int round = 0; round < 50 && improve(weights, order); ++round) {
  }
  return order;
}

}  // namespace

std::vector<std::size_t> arrange_in_line(const Weights& weights, std::size_t front) {
  std::vector<std::size_t> order =
      weights.size() <= kMostExactLanes ? arrange_exactly(weights) : arrange_by_moves(weights);
  const auto at = static_cast<std::size_t>(std::find(order.begin(), order.end(), front) - order.begin());
  const bool mirror = at < order.size() ? 2 * at + 1 > order.size() : !order.empty() && order.front() > order.back();
  if (mirror) std::reverse(order.begin(), order.end());
  return order;
}

}  // namespace halfsplit::report
