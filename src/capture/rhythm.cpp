// SPDX-License-Identifier: Apache-2.0
#include "capture/rhythm.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halfsplit::capture {

void RhythmPlan::draw() {
  const auto uniform = [this] { return 1.0 - rng_.uniform(); };  // never 0
  weight_ *= std::exp(std::log(uniform()) / static_cast<double>(kKeptIntervals));
  const double passed = std::floor(std::log(uniform()) / std::log1p(-weight_));
  const std::uint64_t before = steps_.empty() ? kKeptIntervals : steps_.back().number;
  const std::uint64_t number = before + 1 + static_cast<std::uint64_t>(std::clamp(passed, 0.0, 1.0e18));
  steps_.push_back({number, rng_.below(kKeptIntervals)});
}

std::uint64_t RhythmSample::keep(std::uint64_t number, std::int64_t interval_us, RhythmPlan& plan) {
  const auto value =
      static_cast<std::uint32_t>(std::clamp<std::int64_t>(interval_us, 0, std::numeric_limits<std::uint32_t>::max()));
  if (kept_.size() < kKeptIntervals) {
    kept_.push_back(value);
    return kept_.size() < kKeptIntervals ? number + 1 : plan.step(0).number;
  }
  kept_[plan.step(steps_++).place] = value;
  return plan.step(steps_).number;
}

Rhythm RhythmSample::rhythm() const {
  Rhythm rhythm;
  rhythm.of = kept_.size();
  if (kept_.empty()) return rhythm;
  std::vector<std::uint32_t> rest = kept_;
  auto ranked_from = rest.begin();  // what lies before is smaller, and not looked for any more
  // Between the two nearest ranks; by growing shares.
  const auto at = [&](double share) {
    const double rank = share * static_cast<double>(rest.size() - 1);
    const auto below = rest.begin() + static_cast<std::ptrdiff_t>(rank);
    std::nth_element(ranked_from, below, rest.end());
    const auto above = std::min_element(std::next(below), rest.end());
    ranked_from = below;
    const double low = *below, high = above == rest.end() ? low : *above;
    return low + (high - low) * (rank - std::floor(rank));
  };
  rhythm.p5_us = at(0.05);
  rhythm.median_us = at(0.5);
  rhythm.p95_us = at(0.95);
  rhythm.cyclic = rhythm.of >= kLeastCyclic && rhythm.median_us > 0.0 && rhythm.p5_us >= 0.5 * rhythm.median_us &&
                  rhythm.p95_us <= 2.0 * rhythm.median_us;
  return rhythm;
}

}  // namespace halfsplit::capture
