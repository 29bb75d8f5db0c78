// SPDX-License-Identifier: Apache-2.0
// Are the probabilities worth their name? Vehicles are drawn at random from what the room assumes (faults with any
// severity, faults that are not drawn, slipped probes); over many of them, what was called 70 % must be true in 70 %.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/rng.h"
#include "infer/posterior.h"
#include "infer/robust_normal.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;

constexpr std::uint64_t kSeed = 4242;
constexpr std::size_t kFaults = 4;
constexpr std::size_t kPoints = 4;
constexpr double kSigma = 0.25;

// Volts at point c under fault f at severity u: 0 and 1 cut the feed, 2 is a poor joint, 3 a leak along the way.
double volts(std::size_t f, double u, std::size_t c) {
  const auto place = static_cast<double>(c);
  if (f < 2) return c > f + 1 ? 0.0 : 24.0;
  if (f == 2) return c >= 1 ? 24.0 - 20.0 * u : 24.0;
  return 24.0 - 3.0 * place * u;
}
constexpr double kHealthy = 24.0;

// Draws from the broad density by its distribution function on a grid.
class BroadDraw {
 public:
  BroadDraw() {
    double sum = 0.0;
    for (double x = -120.0; x <= 120.0; x += 0.005) {
      sum += broad_density(test::saw(Kind::kVolts, x), Noise{});
      grid_.push_back(sum);
    }
  }
  double operator()(base::Rng& rng) const {
    const double at = rng.uniform() * grid_.back();
    const auto place = std::lower_bound(grid_.begin(), grid_.end(), at) - grid_.begin();
    return -120.0 + 0.005 * static_cast<double>(place);
  }

 private:
  std::vector<double> grid_;
};

struct Vehicle {
  std::size_t fault = 0;  // kFaults: not drawn
  std::vector<Reading> readings;
};

Vehicle draw(base::Rng& rng, const BroadDraw& broad, const Noise& noise, double not_drawn) {
  Vehicle out;
  out.fault = rng.chance(not_drawn) ? kFaults : rng.below(kFaults);
  const double u = rng.uniform();
  for (std::size_t c = 0; c < kPoints; ++c) {
    const bool beyond = out.fault == kFaults && !rng.chance(noise.healthy_beyond_drawing);
    const double mean = out.fault == kFaults ? kHealthy : volts(out.fault, u, c);
    const double spread = rng.chance(kTailShare) ? kTailWidth * kSigma : kSigma;
    const double value = beyond || rng.chance(noise.mis_probe) ? broad(rng) : mean + spread * rng.normal();
    out.readings.push_back(test::saw(Kind::kVolts, value));
  }
  return out;
}

TEST(Calibration, WhatIsCalledSeventyPerCentIsTrueInSeventyPerCent) {
  Noise noise;
  noise.mis_probe = 0.05;
  const double not_drawn = 0.15;
  std::vector<FaultRate> faults;
  for (std::size_t f = 0; f < kFaults; ++f) faults.push_back({id(f), 1.0, f < 2 ? 1U : 9U});
  const std::vector<Row> rows = make_rows(faults, {0.0, not_drawn});
  evidence::ResponseTable table(rows.size(), kPoints);
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (std::size_t c = 0; c < kPoints; ++c)
      table.at(r, c) = test::number(
          is_not_drawn(rows[r]) ? kHealthy : volts(rows[r].first.index(), rows[r].first_quantile, c), kSigma);

  struct Bin {
    double said = 0.0, spread = 0.0;
    int count = 0, right = 0;
  };
  std::array<Bin, 10> bins{};
  std::array<Bin, 10> beyond{};
  base::Rng rng(kSeed);
  const BroadDraw broad;
  for (int k = 0; k < 6000; ++k) {
    const Vehicle vehicle = draw(rng, broad, noise, not_drawn);
    const Posterior posterior = compute_posterior(rows, table, vehicle.readings, noise);
    for (std::size_t s = 0; s <= kFaults; ++s) {
      const double p = posterior.suspects[s].probability;
      const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(p * 10.0));
      for (Bin* entry : {&bins[bin], s == kFaults ? &beyond[bin] : nullptr}) {
        if (entry == nullptr) continue;
        entry->said += p;
        entry->spread += p * (1.0 - p);
        entry->count += 1;
        entry->right += s == vehicle.fault ? 1 : 0;
      }
    }
  }
  for (const auto& set : {bins, beyond}) {
    for (const Bin& bin : set) {
      if (bin.count < 50) continue;
      // Four standard errors, and two per cent for severities being a grid.
      EXPECT_NEAR(bin.right, bin.said, 4.0 * std::sqrt(bin.spread) + 0.02 * bin.count)
          << "seed " << kSeed << ", said " << bin.said / bin.count << " of " << bin.count;
    }
  }
}

}  // namespace
}  // namespace halfsplit::infer
