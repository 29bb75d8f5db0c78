// SPDX-License-Identifier: Apache-2.0
#include "capture/longest_gaps.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>

#include "base/rng.h"

namespace halfsplit::capture {
namespace {

// Held against a list of all, sorted.
TEST(LongestGaps, TheLongestAreKeptAndTheOthersCounted) {
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    LongestGaps gaps;
    std::vector<std::int64_t> noted, kept;
    for (std::uint64_t order = 1; order <= 3000; ++order) {
      const auto length = static_cast<std::int64_t>(50'000 + rng.below(400) * 1000);
      if (!gaps.wants(length)) continue;
      const Gap gap{{0, order}, {length, order + 1}};
      NotedGap& told = gaps.note(gap, order);
      EXPECT_EQ(told.order, order);
      EXPECT_FALSE(told.claimed);
      told.claimed = true;
      EXPECT_EQ(gaps.find(gaps.place_of(told), order), &told);
      noted.push_back(length);
    }
    std::sort(noted.begin(), noted.end(), std::greater<>());
    for (const NotedGap& one : gaps.kept()) kept.push_back(one.gap.length_us());
    std::sort(kept.begin(), kept.end(), std::greater<>());
    ASSERT_EQ(kept.size(), kKeptGaps);
    for (std::size_t i = 0; i < kept.size(); ++i) EXPECT_EQ(kept[i], noted[i]);
    EXPECT_EQ(gaps.wants(kept.back()), false);
    EXPECT_EQ(gaps.wants(kept.back() + 1), true);
    // By number of binary digits: of those let go, the ones that have more of them.
    const auto digits = [](std::int64_t length) { return std::bit_width(static_cast<std::uint64_t>(length)); };
    const auto longer = std::count_if(noted.begin() + kKeptGaps, noted.end(),
                                      [&](std::int64_t length) { return digits(length) > digits(100'000); });
    EXPECT_EQ(gaps.let_go(100'000), static_cast<std::uint64_t>(longer));
  }
}

TEST(LongestGaps, APlaceGivenToAnotherIsNoLongerFound) {
  LongestGaps gaps;
  for (std::uint64_t order = 1; order <= kKeptGaps; ++order)
    (void)gaps.note({{0, 1}, {100'000 + static_cast<std::int64_t>(order), 2}}, order);
  EXPECT_NE(gaps.find(0, 1), nullptr);
  (void)gaps.note({{0, 1}, {900'000, 2}}, kKeptGaps + 1);
  EXPECT_EQ(gaps.find(0, 1), nullptr);
  EXPECT_EQ(gaps.longest_ending_since(0)->order, kKeptGaps + 1);
}

}  // namespace
}  // namespace halfsplit::capture
