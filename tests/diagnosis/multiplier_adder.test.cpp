// SPDX-License-Identifier: Apache-2.0
// The box of three multipliers and two adders: M1: X = A C. M2: Y = B D. M3: Z = C E. A1: F = X + Y. A2: G = Y + Z.
// A=3 B=2 C=2 D=3 E=3, so X=Y=Z=6 and F=G=12 when all is well; a faulty part says nothing of its output.
// Source: de Kleer and Williams, "Diagnosing Multiple Faults", Artificial Intelligence 32 (1987) 97-130 (circuit and
// observations from memory); every number below recomputed by a separate program, by brute force, in exact terms.
#include <gtest/gtest.h>

#include <set>

#include "infer/entropy.h"
#include "tests/diagnosis/fault_sets.h"

namespace halfsplit::diagnosis {
namespace {

constexpr Mask kM1 = 1, kM2 = 2, kM3 = 4, kAdderOne = 8, kAdderTwo = 16;
constexpr std::size_t kGates = 5;

struct Observed {
  int f = 10;
  int g = -1;  // -1: not looked at
  int x = -1;
};

// Every way the box can work with the parts of `mask` free: calls use(x, y, z).
template <class Use>
void for_each_world(Mask mask, const Observed& seen, Use use) {
  const auto range = [&](Mask part) { return std::pair{(mask & part) != 0 ? 0 : 6, (mask & part) != 0 ? 20 : 6}; };
  for (int x = range(kM1).first; x <= range(kM1).second; ++x)
    for (int y = range(kM2).first; y <= range(kM2).second; ++y)
      for (int z = range(kM3).first; z <= range(kM3).second; ++z) {
        if ((mask & kAdderOne) == 0 && x + y != seen.f) continue;
        if (seen.g >= 0 && (mask & kAdderTwo) == 0 && y + z != seen.g) continue;
        if (seen.x >= 0 && x != seen.x) continue;
        use(x, y, z);
      }
}

bool is_possible(Mask mask, const Observed& seen) {
  bool found = false;
  for_each_world(mask, seen, [&](int, int, int) { found = true; });
  return found;
}

FaultSets believe_observed(const Observed& seen, double p) {
  std::vector<Observed> steps = {{seen.f, -1, -1}};
  if (seen.g >= 0) steps.push_back({seen.f, seen.g, -1});
  if (seen.x >= 0) steps.push_back(seen);
  return weigh(all_sets(kGates), kGates, p, steps.size(), [&](Mask mask) {
    std::size_t explained = 0;
    while (explained < steps.size() && is_possible(mask, steps[explained])) ++explained;
    return explained;
  });
}

std::set<Mask> set_of(const std::vector<Mask>& masks) { return {masks.begin(), masks.end()}; }

TEST(MultiplierAdder, DiagnosesOfEveryObservation) {
  struct Line {
    Observed seen;
    std::size_t consistent;
    std::set<Mask> minimal;
  };
  const Line lines[] = {{{10, -1, -1}, 28, {kAdderOne, kM1, kM2}},
                        {{10, 12, -1}, 27, {kAdderOne, kM1, kAdderTwo | kM2, kM2 | kM3}},
                        {{10, 12, 4}, 16, {kM1}},
                        {{10, 12, 6}, 22, {kAdderOne, kAdderTwo | kM2, kM2 | kM3}},
                        {{10, 10, -1}, 25, {kM2, kAdderOne | kAdderTwo, kAdderOne | kM3, kAdderTwo | kM1, kM1 | kM3}},
                        {{10, 14, -1},
                         24,
                         {kAdderOne | kAdderTwo, kAdderOne | kM2, kAdderOne | kM3, kAdderTwo | kM1, kAdderTwo | kM2,
                          kM1 | kM2, kM1 | kM3, kM2 | kM3}}};
  for (const Line& line : lines) {
    const FaultSets sets = believe_observed(line.seen, 0.01);
    EXPECT_EQ(possible(sets).size(), line.consistent) << line.seen.g << " " << line.seen.x;
    EXPECT_EQ(set_of(minimal(sets)), line.minimal) << line.seen.g << " " << line.seen.x;
  }
}

double probability(const FaultSets& sets, Mask mask) {
  for (std::size_t r = 0; r < sets.masks.size(); ++r)
    if (sets.masks[r] == mask) return sets.posterior.row[r];
  return -1.0;
}

double fault_probability(const FaultSets& sets, Mask part) {
  return sets.posterior.fault[static_cast<std::size_t>(std::countr_zero(part))];
}

std::vector<double> suspects(const FaultSets& sets) {
  std::vector<double> out;
  for (const infer::Suspect& suspect : sets.posterior.suspects) out.push_back(suspect.probability);
  return out;
}

// What each set predicts at X, Y or Z: the only value it leaves possible, or nothing.
enum class Wire { kX, kY, kZ };
std::vector<std::vector<double>> predictions(const FaultSets& sets, Wire wire, int low, int high, bool spread) {
  std::vector<std::vector<double>> table;
  for (const Mask mask : sets.masks) {
    std::set<int> values;
    for_each_world(mask, {10, 12, -1},
                   [&](int x, int y, int z) { values.insert(wire == Wire::kX ? x : (wire == Wire::kY ? y : z)); });
    // Outcomes: low, high, neither - or each of sixteen values, what predicts nothing spread over all.
    std::vector<double> line(spread ? 16 : 3, 0.0);
    if (values.size() == 1 && (*values.begin() == low || *values.begin() == high)) {
      line[*values.begin() == low ? 0 : 1] = 1.0;
    } else if (spread) {
      line.assign(16, 1.0 / 16.0);
    } else {
      line[2] = 1.0;
    }
    table.push_back(std::move(line));
  }
  return table;
}

struct Column {
  double p;
  double one, two, a1, m2, a2, bits;
  double x[3], y[3], z[3];
  double bits_x, bits_y, bits_z;
};
constexpr Column kColumns[] = {{0.01,
                                0.478026,
                                0.004829,
                                0.497635,
                                0.019609,
                                0.014780,
                                1.359445,
                                {0.492561, 0.502365, 0.005074},
                                {0.009706, 0.990097, 0.000197},
                                {0.994926, 0.004829, 0.000246},
                                1.040838,
                                0.081544,
                                0.047402},
                               {0.1,
                                0.319441,
                                0.035493,
                                0.486879,
                                0.167438,
                                0.131944,
                                2.930461,
                                {0.429865, 0.513121, 0.057013},
                                {0.074931, 0.907493, 0.017576},
                                {0.942987, 0.035493, 0.021520},
                                1.253151,
                                0.509674,
                                0.369991}};
constexpr double kDigits = 6e-7;  // the numbers are given to six places

TEST(MultiplierAdder, PosteriorOfSetsAndParts) {
  for (const Column& column : kColumns) {
    const FaultSets sets = believe_observed({10, 12, -1}, column.p);
    EXPECT_NEAR(probability(sets, kAdderOne), column.one, kDigits);
    EXPECT_NEAR(probability(sets, kM1), column.one, kDigits);
    for (const Mask mask : possible(sets))
      if (std::popcount(mask) == 2) {
        EXPECT_NEAR(probability(sets, mask), column.two, kDigits);
      }
    EXPECT_NEAR(fault_probability(sets, kAdderOne), column.a1, kDigits);
    EXPECT_NEAR(fault_probability(sets, kM1), column.a1, kDigits);
    EXPECT_NEAR(fault_probability(sets, kM2), column.m2, kDigits);
    EXPECT_NEAR(fault_probability(sets, kAdderTwo), column.a2, kDigits);
    EXPECT_NEAR(fault_probability(sets, kM3), column.a2, kDigits);
    EXPECT_NEAR(infer::entropy_bits(suspects(sets)), column.bits, kDigits);
  }
}

TEST(MultiplierAdder, WhatTheInnerWiresAreExpectedToShow) {
  for (const Column& column : kColumns) {
    const FaultSets sets = believe_observed({10, 12, -1}, column.p);
    const std::vector<double> p = suspects(sets);
    const std::vector<double> x = infer::outcome_chances(p, predictions(sets, Wire::kX, 4, 6, false));
    const std::vector<double> y = infer::outcome_chances(p, predictions(sets, Wire::kY, 4, 6, false));
    const std::vector<double> z = infer::outcome_chances(p, predictions(sets, Wire::kZ, 6, 8, false));
    for (std::size_t k = 0; k < 3; ++k) {
      EXPECT_NEAR(x[k], column.x[k], kDigits);
      EXPECT_NEAR(y[k], column.y[k], kDigits);
      EXPECT_NEAR(z[k], column.z[k], kDigits);
    }
    EXPECT_NEAR(infer::entropy_bits(x), column.bits_x, kDigits);
    EXPECT_NEAR(infer::entropy_bits(y), column.bits_y, kDigits);
    EXPECT_NEAR(infer::entropy_bits(z), column.bits_z, kDigits);
  }
}

TEST(MultiplierAdder, XIsTheNextMeasurementUnderEitherPrior) {
  for (const Column& column : kColumns) {
    const FaultSets sets = believe_observed({10, 12, -1}, column.p);
    const std::vector<double> p = suspects(sets);
    const double x = infer::expected_gain_bits(p, predictions(sets, Wire::kX, 4, 6, true));
    EXPECT_GT(x, infer::expected_gain_bits(p, predictions(sets, Wire::kY, 4, 6, true)));
    EXPECT_GT(x, infer::expected_gain_bits(p, predictions(sets, Wire::kZ, 6, 8, true)));
  }
}

}  // namespace
}  // namespace halfsplit::diagnosis
