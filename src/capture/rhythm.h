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
  // The interval that is `number`th, counted from 1; gives the number of the next one that is wanted, which is to be
  // the next one told. The first is wanted.
  [[nodiscard]] std::uint64_t keep(std::uint64_t number, std::int64_t interval_us);
  [[nodiscard]] Rhythm rhythm() const;

 private:
  [[nodiscard]] std::uint64_t skip(std::uint64_t number);

  double weight_ = 1.0;
  base::Rng rng_;
  std::vector<std::uint32_t> kept_;  // microseconds, at most 71 minutes
};

}  // namespace halfsplit::capture
