// SPDX-License-Identifier: Apache-2.0
#include "report/stack.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <functional>

#include "base/rng.h"

namespace halfsplit::report {
namespace {

long stack_cost(const std::vector<StackItem>& items, const std::vector<int>& tops) {
  long sum = 0;
  for (std::size_t i = 0; i < items.size(); ++i)
    for (const auto& [wish, weight] : items[i].wishes) sum += static_cast<long>(weight) * std::abs(tops[i] - wish);
  return sum;
}

TEST(Stack, WishesThatFitAreGranted) {
  EXPECT_EQ(place_stack({{0, {{10, 1}}}, {5, {{30, 1}}}, {5, {{36, 1}}}}), (std::vector<int>{10, 30, 36}));
}

TEST(Stack, DistancesAreKept) {
  EXPECT_EQ(place_stack({{0, {{10, 1}}}, {20, {{10, 5}}}}), (std::vector<int>{-10, 10}));  // the heavier wish wins
}

TEST(Stack, WhatHasNoWishFollows) {
  EXPECT_EQ(place_stack({{0, {}}, {20, {{50, 1}}}, {7, {}}}), (std::vector<int>{30, 50, 57}));
  EXPECT_EQ(place_stack({{0, {}}, {20, {}}}), (std::vector<int>{0, 20}));
  EXPECT_TRUE(place_stack({}).empty());
}

// Its slow twin: every arrangement on a small grid.
TEST(Stack, NoArrangementIsBetter) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    std::vector<StackItem> items(4);
    for (StackItem& item : items) {
      item.below = static_cast<int>(1 + rng.below(3));
      for (std::size_t count = 1 + rng.below(2); count > 0; --count)
        item.wishes.emplace_back(static_cast<int>(rng.below(9)), static_cast<int>(1 + rng.below(4)));
    }
    const std::vector<int> placed = place_stack(items);
    for (std::size_t i = 1; i < items.size(); ++i) ASSERT_GE(placed[i] - placed[i - 1], items[i].below);
    long least = stack_cost(items, placed) + 1;
    std::vector<int> tops(4);
    const std::function<void(std::size_t)> every = [&](std::size_t i) {
      if (i == tops.size()) {
        least = std::min(least, stack_cost(items, tops));
        return;
      }
      for (int top = i == 0 ? -10 : tops[i - 1] + items[i].below; top <= 20; ++top) {
        tops[i] = top;
        every(i + 1);
      }
    };
    every(0);
    EXPECT_EQ(stack_cost(items, placed), least);
  }
}

}  // namespace
}  // namespace halfsplit::report
