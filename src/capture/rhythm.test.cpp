// SPDX-License-Identifier: Apache-2.0
#include "capture/rhythm.h"

#include <gtest/gtest.h>

namespace halfsplit::capture {
namespace {

// Interval i is i long, so that the sample shows where it was drawn.
Rhythm of_rising(std::uint64_t count, RhythmPlan& plan) {
  RhythmSample sample;
  std::uint64_t wanted = 1;
  for (std::uint64_t number = 1; number <= count; ++number)
    if (number == wanted) wanted = sample.keep(number, static_cast<std::int64_t>(number), plan);
  return sample.rhythm();
}

TEST(RhythmSample, AllUntilThereAreAsManyAsAreKept) {
  RhythmPlan plan;
  const Rhythm rhythm = of_rising(kKeptIntervals, plan);
  EXPECT_EQ(rhythm.of, kKeptIntervals);
  EXPECT_EQ(rhythm.median_us, 128.5);
}

// The median of 256 evenly drawn ones strays by 3 % of the whole (one standard deviation), the marks by 1.4 %.
TEST(RhythmSample, EvenlyOverTheWholeHoweverLong) {
  RhythmPlan plan;
  for (const std::uint64_t count : {300U, 1000U, 20'000U, 1'000'000U}) {
    SCOPED_TRACE(count);
    const Rhythm rhythm = of_rising(count, plan);
    const auto all = static_cast<double>(count);
    EXPECT_EQ(rhythm.of, kKeptIntervals);
    EXPECT_NEAR(rhythm.median_us / all, 0.50, 0.10);
    EXPECT_NEAR(rhythm.p5_us / all, 0.05, 0.045);
    EXPECT_NEAR(rhythm.p95_us / all, 0.95, 0.045);
  }
}

TEST(RhythmSample, ThePlanIsTheSameWhoeverAsksFirst) {
  RhythmPlan asked_far, asked_near;
  (void)of_rising(100'000, asked_far);
  for (const std::uint64_t count : {400U, 5000U}) {
    EXPECT_EQ(of_rising(count, asked_far).median_us, of_rising(count, asked_near).median_us);
    EXPECT_EQ(of_rising(count, asked_far).p95_us, of_rising(count, asked_near).p95_us);
  }
}

}  // namespace
}  // namespace halfsplit::capture
