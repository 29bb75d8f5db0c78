// SPDX-License-Identifier: Apache-2.0
#include "report/lane_order.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <numeric>

#include "base/rng.h"

namespace halfsplit::report {
namespace {

using Weights = std::vector<std::vector<int>>;
using Order = std::vector<std::size_t>;

Weights random_weights(std::uint64_t seed, std::size_t n) {
  base::Rng rng(seed);
  Weights weights(n, std::vector<int>(n, 0));
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = i + 1; k < n; ++k)
      if (rng.chance(0.5)) weights[i][k] = weights[k][i] = static_cast<int>(rng.below(6));
  return weights;
}

long cost(const Weights& weights, const Order& order) {
  long sum = 0;
  for (std::size_t i = 0; i < order.size(); ++i)
    for (std::size_t k = i + 1; k < order.size(); ++k) sum += static_cast<long>(k - i) * weights[order[i]][order[k]];
  return sum;
}

TEST(LaneOrder, AChainIsLaidOutAsOne) {
  Weights weights(5, std::vector<int>(5, 0));
  const Order chain = {3, 0, 4, 1, 2};
  for (std::size_t i = 1; i < chain.size(); ++i) weights[chain[i - 1]][chain[i]] = weights[chain[i]][chain[i - 1]] = 1;
  EXPECT_EQ(arrange_in_line(weights, 3), chain);
  EXPECT_EQ(arrange_in_line(weights, 2), Order(chain.rbegin(), chain.rend()));
}

TEST(LaneOrder, FewAreNoProblem) {
  EXPECT_TRUE(arrange_in_line({}, 0).empty());
  EXPECT_EQ(arrange_in_line({{0}}, 7), Order{0});
}

// Its slow twin: every order.
TEST(LaneOrder, NoOrderIsBetter) {
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Weights weights = random_weights(seed, 1 + seed % 7);
    Order order(weights.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    long least = std::numeric_limits<long>::max();
    do least = std::min(least, cost(weights, order));
    while (std::next_permutation(order.begin(), order.end()));
    EXPECT_EQ(cost(weights, arrange_in_line(weights, 0)), least);
  }
}

TEST(LaneOrder, ManyAreArrangedToo) {
  const std::size_t n = kMostExactLanes + 8;
  Weights weights(n, std::vector<int>(n, 0));
  for (std::size_t i = 1; i < n; ++i) weights[i * 7 % n][(i - 1) * 7 % n] = weights[(i - 1) * 7 % n][i * 7 % n] = 1;
  Order order = arrange_in_line(weights, 0);
  Order unarranged(n);
  std::iota(unarranged.begin(), unarranged.end(), std::size_t{0});
  EXPECT_LT(cost(weights, order), cost(weights, unarranged) / 2);
  std::sort(order.begin(), order.end());
  EXPECT_EQ(order, unarranged);  // each once
}

}  // namespace
}  // namespace halfsplit::report
