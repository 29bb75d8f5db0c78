// SPDX-License-Identifier: Apache-2.0
// The intervals between frames of one message, as a sample of fixed size drawn evenly over the recording: Li,
// "Reservoir sampling algorithms of time complexity O(n (1 + log(N / n)))", ACM TOMS 20 (1994), algorithm L, with a
// fixed seed. All intervals are in it until there are kKeptIntervals of them.
#pragma once

#include <cstdint>
#include <vector>

#include "base/rng.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kKeptIntervals = 256;
constexpr std::size_t kLeastCyclic = 8;

class RhythmSample {
 public:
  explicit RhythmSample(std::uint64_t seed) : rng_(seed) {}
  void add(std::int64_t interval_us) {
    if (++seen_ <= kKeptIntervals || seen_ == next_) keep(interval_us);
  }
  [[nodiscard]] Rhythm rhythm() const;

 private:
  void keep(std::int64_t interval_us);
  void skip();

  std::uint64_t seen_ = 0, next_ = 0;
  double weight_ = 1.0;
  base::Rng rng_;
  std::vector<std::uint32_t> kept_;  // microseconds, at most 71 minutes
};

}  // namespace halfsplit::capture
