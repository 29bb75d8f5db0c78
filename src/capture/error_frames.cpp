// SPDX-License-Identifier: Apache-2.0
#include "capture/error_frames.h"

#include <array>

namespace halfsplit::capture {

namespace {

constexpr std::array<std::string_view, kErrorClasses> kClassNames = {
    "sending timed out",  "arbitration lost", "controller", "protocol violation",   "transceiver",
    "no acknowledgement", "bus off",          "bus error",  "controller restarted", "error counters"};
constexpr std::uint64_t kErrorsToOne = 10;  // so many errors to one frame: "nothing else"

void close_burst(Errors& errors, const ErrorBurst& burst) {
  if (burst.frames == 0) return;
  if (errors.bursts.size() < kKeptBursts)
    errors.bursts.push_back(burst);
  else
    ++errors.more_bursts;
}

}  // namespace

std::string_view error_class_name(std::size_t which) { return kClassNames.at(which); }

void ErrorFrames::add(const can::Frame& frame, const Mark& mark) {
  ++errors_.frames;
  for (std::size_t c = 0; c < kErrorClasses; ++c) errors_.by_class[c] += (frame.id >> c) & 1U;
  if (open_.frames > 0 && mark.at_us - open_.last.at_us > kBurstPauseUs) {
    close_burst(errors_, open_);
    open_ = {};
  }
  if (open_.frames++ == 0) open_.first = mark;
  open_.last = mark;
}

Errors ErrorFrames::errors(std::uint64_t other_frames) const {
  Errors errors = errors_;
  close_burst(errors, open_);
  errors.nothing_else = errors.frames > 0 && errors.frames >= kErrorsToOne * other_frames;
  return errors;
}

}  // namespace halfsplit::capture
