// SPDX-License-Identifier: Apache-2.0
#include "capture/steady_clock.h"

#include <limits>

namespace halfsplit::capture {

namespace {

// What a damaged time may hold must not overflow.
std::int64_t bounded_difference(std::int64_t a, std::int64_t b) {
  std::int64_t difference = 0;
  if (!__builtin_sub_overflow(a, b, &difference)) return difference;
  return a > b ? std::numeric_limits<std::int64_t>::max() : std::numeric_limits<std::int64_t>::min();
}

}  // namespace

void SteadyClock::step(const can::Frame& frame) {
  if (!begun_) {
    begun_ = true;
    ++steps_;
    too_far_ = kJumpAheadUs + 1;
    start_us_ = zero_us_ = frame.time_us;
    return;
  }
  const std::int64_t by = bounded_difference(bounded_difference(frame.time_us, zero_us_), last_us_);
  if (by < 0 && by >= -kJumpBackUs) return;
  ++steps_;
  if (jumps_.size() < kKeptJumps) jumps_.push_back({frame.line, by});
  zero_us_ =
      static_cast<std::int64_t>(static_cast<std::uint64_t>(frame.time_us) - static_cast<std::uint64_t>(last_us_));
}

void SteadyClock::tell(Findings& findings) const {
  findings.start_us = start_us_;
  findings.duration_us = last_us_;
  findings.timed = last_us_ > 0;
  findings.jumps = jumps_;
  findings.more_jumps = begun_ ? steps_ - 1 - jumps_.size() : 0;
}

}  // namespace halfsplit::capture
