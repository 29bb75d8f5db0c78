// SPDX-License-Identifier: Apache-2.0
// The times of a recording as one that never goes back: from its first frame, steps of the recorder's clock taken out.
#pragma once

#include <cstdint>
#include <vector>

#include "can/frame.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kKeptJumps = 64;
constexpr std::int64_t kJumpBackUs = 1'000'000;  // less: frames of several channels out of order, taken as one moment
constexpr std::int64_t kJumpAheadUs = 86'400'000'000;  // a day

class SteadyClock {
 public:
  [[nodiscard]] std::int64_t time_of(const can::Frame& frame) {
    // Unsigned, as a damaged time may hold anything.
    const auto at =
        static_cast<std::int64_t>(static_cast<std::uint64_t>(frame.time_us) - static_cast<std::uint64_t>(zero_us_));
    const std::uint64_t ahead = static_cast<std::uint64_t>(at) - static_cast<std::uint64_t>(last_us_);
    if (ahead >= too_far_ || at > kLatestUs) [[unlikely]] {  // or back: then it is a very large number
      step(frame);
    } else {
      last_us_ = at;
    }
    return last_us_;
  }
  [[nodiscard]] Mark mark(const can::Frame& frame) { return {time_of(frame), frame.line}; }
  // Whether another clock, a copy of this one from earlier on, gave times as this one would have: neither saw the
  // recorder's clock being set since, and the first time that it gave is one that may come next.
  [[nodiscard]] bool agrees_with(const SteadyClock& other, std::uint64_t steps_before, std::int64_t first_us) const {
    return begun_ && other.steps_ == steps_ && steps_before == steps_ && first_us >= last_us_ &&
           first_us - last_us_ < static_cast<std::int64_t>(too_far_);
  }
  void go_on_to(std::int64_t last_us) { last_us_ = last_us; }
  [[nodiscard]] std::uint64_t steps() const { return steps_; }
  void tell(Findings& findings) const;

 private:
  static constexpr std::int64_t kLatestUs = std::int64_t{1} << 60;

  void step(const can::Frame& frame);

  bool begun_ = false;
  std::uint64_t too_far_ = 0;  // ahead of the last frame; nothing is near before the first
  std::int64_t start_us_ = 0, zero_us_ = 0, last_us_ = 0;
  std::uint64_t steps_ = 0;  // the beginning, and each time it was set
  std::vector<ClockJump> jumps_;
};

}  // namespace halfsplit::capture
