// SPDX-License-Identifier: Apache-2.0
// Error frames as the adapter reports them: how many, of which class, in which bursts. Classes: the bits of the
// identifier in Linux' can/error.h.
#pragma once

#include <string_view>

#include "can/frame.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kErrorClasses = 10;
constexpr std::size_t kKeptBursts = 128;
constexpr std::int64_t kBurstPauseUs = 100'000;  // a longer pause begins a new burst

// "no acknowledgement", "bus off", ...; which < kErrorClasses.
[[nodiscard]] std::string_view error_class_name(std::size_t which);

class ErrorFrames {
 public:
  void add(const can::Frame& frame, const Mark& mark);
  [[nodiscard]] std::uint64_t frames() const { return errors_.frames; }
  [[nodiscard]] Errors errors(std::uint64_t other_frames) const;

 private:
  Errors errors_;
  ErrorBurst open_;
};

}  // namespace halfsplit::capture
