// SPDX-License-Identifier: Apache-2.0
// What outcomes tell is held against what the reading itself tells, integrated on a fine grid.
#include "candidates/cuts.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/rng.h"

namespace halfsplit::candidates {
namespace {

double x_log2_x(double x) { return x > 0.0 ? x * std::log2(x) : 0.0; }

double density(double at, const Lump& lump) {
  const double z = (at - lump.mean) / lump.sigma;
  return lump.weight * std::exp(-0.5 * z * z) / (lump.sigma * std::sqrt(2.0 * std::acos(-1.0)));
}

// Of the joint masses by outcome and repair.
double bits_of(const std::vector<std::map<std::size_t, double>>& outcomes) {
  std::map<std::size_t, double> repairs;
  double bits = 0.0;
  double total = 0.0;
  for (const auto& outcome : outcomes) {
    double whole = 0.0;
    for (const auto& [repair, mass] : outcome) {
      bits += x_log2_x(mass);
      repairs[repair] += mass;
      whole += mass;
    }
    bits -= x_log2_x(whole);
    total += whole;
  }
  for (const auto& [repair, mass] : repairs) bits -= x_log2_x(mass);
  return (bits + x_log2_x(total)) / total;
}

double bits_of_cuts(const std::vector<Lump>& lumps, const std::vector<Cut>& cuts) {
  std::vector<double> edges{-INFINITY};
  for (const Cut& cut : cuts) edges.push_back(cut.at);
  edges.push_back(INFINITY);
  std::vector<std::map<std::size_t, double>> outcomes(edges.size() - 1);
  for (const Lump& lump : lumps)
    for (std::size_t o = 0; o + 1 < edges.size(); ++o)
      outcomes[o][lump.repair] += lump.weight * (share_below(edges[o + 1], lump.mean, lump.sigma) -
                                                 share_below(edges[o], lump.mean, lump.sigma));
  return bits_of(outcomes);
}

double bits_of_reading(const std::vector<Lump>& lumps) {
  double low = INFINITY;
  double high = -INFINITY;
  for (const Lump& lump : lumps) {
    low = std::min(low, lump.mean - 7.0 * lump.sigma);
    high = std::max(high, lump.mean + 7.0 * lump.sigma);
  }
  constexpr std::size_t kSteps = 4000;
  const double step = (high - low) / kSteps;
  std::vector<std::map<std::size_t, double>> cells(kSteps);
  for (std::size_t i = 0; i < kSteps; ++i)
    for (const Lump& lump : lumps)
      cells[i][lump.repair] += step * density(low + step * (static_cast<double>(i) + 0.5), lump);
  return bits_of(cells);
}

void sort(std::vector<Lump>& lumps) {
  std::sort(lumps.begin(), lumps.end(), [](const Lump& a, const Lump& b) { return a.mean < b.mean; });
}

// A sensor in order and one off its curve, as a meter at its terminals finds them: 5.0 kohm give or take, and anything
// from there to 10 kohm. No gap lies between, and yet most of it can be told.
TEST(Cuts, TellWhatRunsIntoEachOtherApart) {
  std::vector<Lump> lumps{{5.0, 0.35, 0.6, 0}};
  for (const double mean : {5.6, 6.6, 7.6, 8.6, 9.6}) lumps.push_back({mean, 0.5, 0.08, 1});
  const std::vector<Cut> cuts = find_cuts(lumps);
  ASSERT_FALSE(cuts.empty());
  EXPECT_FALSE(cuts.front().in_gap);
  const double all = bits_of_reading(lumps);
  EXPECT_GT(all, 0.6);
  EXPECT_GT(bits_of_cuts(lumps, cuts), 0.93 * all);
  EXPECT_LE(bits_of_cuts(lumps, cuts), all + 1e-6);
}

TEST(Cuts, LeaveWhatOneRepairMendsTogether) {
  const std::vector<Lump> range{{1.0, 0.3, 0.2, 4}, {1.5, 0.3, 0.2, 4}, {2.0, 0.3, 0.2, 4}, {2.5, 0.3, 0.2, 4}};
  EXPECT_TRUE(find_cuts(range).empty());
}

TEST(Cuts, LieInGapsWhereThereAreAny) {
  const std::vector<Lump> lumps{{0.0, 0.01, 0.5, 0}, {12.0, 0.1, 0.3, 1}, {24.0, 0.1, 0.2, 2}};
  const std::vector<Cut> cuts = find_cuts(lumps);
  ASSERT_EQ(cuts.size(), 2U);
  EXPECT_TRUE(cuts[0].in_gap && cuts[1].in_gap);
  EXPECT_GT(cuts[0].at, 0.1);
  EXPECT_LT(cuts[0].at, 11.0);
  EXPECT_NEAR(cuts[1].at, 18.0, 1e-9);
}

TEST(Cuts, LieBesideWhatHasNoSpread) {
  for (const double sigma : {0.0, 0.1}) {
    const std::vector<Lump> lumps{{0.0, 0.0, 0.5, 0}, {1.0, sigma, 0.5, 1}};
    EXPECT_NEAR(bits_of_cuts(lumps, find_cuts(lumps)), 1.0, 1e-6) << sigma;
  }
}

TEST(Cuts, OfNothingOrOfWhatIsAlikeThereAreNone) {
  EXPECT_TRUE(find_cuts({}).empty());
  EXPECT_TRUE(find_cuts({{1.0, 0.1, 1.0, 0}}).empty());
  EXPECT_TRUE(find_cuts({{5.0, 0.0, 0.5, 0}, {5.0, 0.0, 0.5, 1}}).empty());
  EXPECT_TRUE(find_cuts({{5.0, 0.1, 0.5, 0}, {5.001, 0.1, 0.5, 1}}).empty());
}

// Never more than the reading tells; of what it tells the outcomes keep nearly all.
TEST(Cuts, KeepMostOfWhatAReadingTells) {
  double kept = 0.0;
  double told = 0.0;
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    base::Rng rng(seed);
    std::vector<Lump> lumps;
    const std::size_t repairs = 2 + rng.below(4);
    for (std::size_t r = 0; r < repairs; ++r) {
      const double centre = 10.0 * rng.uniform();
      const std::size_t rows = 1 + rng.below(4);
      for (std::size_t i = 0; i < rows; ++i)
        lumps.push_back({centre + 3.0 * rng.uniform(), 0.05 + rng.uniform(), 0.05 + rng.uniform(), r});
    }
    sort(lumps);
    const double cut = bits_of_cuts(lumps, find_cuts(lumps));
    const double all = bits_of_reading(lumps);
    EXPECT_LE(cut, all + 1e-4) << "seed " << seed;
    EXPECT_GE(cut, 0.6 * all - 0.05) << "seed " << seed;
    kept += cut;
    told += all;
  }
  EXPECT_GE(kept, 0.88 * told);
}

}  // namespace
}  // namespace halfsplit::candidates
