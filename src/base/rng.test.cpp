// SPDX-License-Identifier: Apache-2.0
// The draws are part of what users see (a seed repeats a run), so the first ones are written down. Statistical bounds
// are about six standard errors wide, with fixed seeds: they never fail by chance.
#include "base/rng.h"

#include <gtest/gtest.h>

#include <vector>

namespace halfsplit::base {
namespace {

TEST(Rng, DrawsOfSplitMix64) {
  // First outputs for seed 1234567 as published with the reference implementation of SplitMix64 (S. Vigna,
  // prng.di.unimi.it; figures from memory, widely repeated in other languages' tests).
  Rng rng(1234567);
  EXPECT_EQ(rng.next(), 6457827717110365317ULL);
  EXPECT_EQ(rng.next(), 3203168211198807973ULL);
  EXPECT_EQ(rng.next(), 9817491932198370423ULL);
  EXPECT_EQ(rng.next(), 4593380528125082431ULL);
  EXPECT_EQ(rng.next(), 16408922859458223821ULL);
}

TEST(Rng, UniformStaysInsideAndIsEven) {
  Rng rng(3);
  std::vector<int> bins(10);
  double sum = 0;
  for (int i = 0; i < 100000; ++i) {
    const double u = rng.uniform();
    ASSERT_GE(u, 0.0);
    ASSERT_LT(u, 1.0);
    sum += u;
    ++bins[static_cast<std::size_t>(u * 10)];
  }
  EXPECT_NEAR(sum / 100000, 0.5, 0.006);
  for (const int count : bins) EXPECT_NEAR(count, 10000, 600);
}

TEST(Rng, BelowReachesEveryNumberAndNoOther) {
  Rng rng(4);
  std::vector<int> seen(3);
  for (int i = 0; i < 30000; ++i) ++seen.at(rng.below(3));
  for (const int count : seen) EXPECT_NEAR(count, 10000, 500);
  EXPECT_EQ(Rng(1).below(1), 0U);
}

TEST(Rng, RangesKeepTheirEnds) {
  Rng rng(5);
  for (int i = 0; i < 10000; ++i) {
    const double x = rng.uniform(-2.0, 3.0);
    ASSERT_GE(x, -2.0);
    ASSERT_LE(x, 3.0);
    const double y = rng.log_uniform(0.01, 100.0);
    ASSERT_GE(y, 0.01 * (1 - 1e-12));
    ASSERT_LE(y, 100.0 * (1 + 1e-12));
  }
}

TEST(Rng, LogUniformGivesEveryDecadeItsShare) {
  Rng rng(6);
  int low = 0;
  for (int i = 0; i < 40000; ++i) low += rng.log_uniform(0.01, 100.0) < 0.1 ? 1 : 0;
  EXPECT_NEAR(low, 10000, 550);
}

TEST(Rng, NormalHasItsMeanSpreadAndTails) {
  Rng rng(7);
  double sum = 0, squares = 0;
  int outside = 0;
  for (int i = 0; i < 100000; ++i) {
    const double z = rng.normal();
    sum += z;
    squares += z * z;
    outside += z > 1.959964 || z < -1.959964 ? 1 : 0;
  }
  EXPECT_NEAR(sum / 100000, 0.0, 0.02);
  EXPECT_NEAR(squares / 100000, 1.0, 0.03);
  EXPECT_NEAR(outside, 5000, 420);
}

TEST(Rng, ChanceAtTheEnds) {
  Rng rng(8);
  for (int i = 0; i < 1000; ++i) {
    ASSERT_FALSE(rng.chance(0.0));
    ASSERT_TRUE(rng.chance(1.0));
  }
}

TEST(Rng, TheSameSeedTheSameDraws) {
  Rng a(9), b(9), c(10);
  EXPECT_EQ(a.next(), b.next());
  EXPECT_NE(a.next(), c.next());
}

}  // namespace
}  // namespace halfsplit::base
