// SPDX-License-Identifier: Apache-2.0
// The intervals between frames of one message, as a sample of fixed size drawn evenly over the recording: Li,
// "Reservoir sampling algorithms of time complexity O(n (1 + log(N / n)))", ACM TOMS 20 (1994), algorithm L, with a
// fixed seed. All intervals are in it until there are kKeptIntervals of them. Which ones are drawn does not depend on
// what they are, so all messages follow one plan.
#pragma once

#include <cstdint>
#include <vector>

#include "base/rng.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kKeptIntervals = 256;
constexpr std::size_t kLeastCyclic = 8;

// Which intervals behind the first kKeptIntervals are kept, and in whose place: drawn as far as they are asked for.
class RhythmPlan {
 public:
  struct Step {
    std::uint64_t number = 0;  // of the interval, counted from 1
    std::size_t place = 0;     // below kKeptIntervals
  };
  [[nodiscard]] const Step& step(std::size_t which) {
    while (which >= steps_.size()) draw();
    return steps_[which];
  }

 private:
  void draw();

  double weight_ = 1.0;
  base::Rng rng_{1};
  std::vector<Step> steps_;
};

class RhythmSample {
 public:
  // The interval that is `number`th, counted from 1; gives the number of the next one that is wanted, which is to be
  // the next one told. The first is wanted.
  [[nodiscard]] std::uint64_t keep(std::uint64_t number, std::int64_t interval_us, RhythmPlan& plan);
  [[nodiscard]] Rhythm rhythm() const;

 private:
  std::size_t steps_ = 0;            // of the plan, done
  std::vector<std::uint32_t> kept_;  // microseconds, at most 71 minutes
};

}  // namespace halfsplit::capture
