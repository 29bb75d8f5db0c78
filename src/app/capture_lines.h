// SPDX-License-Identifier: Apache-2.0
// Frames of a recording as they stand in it, with what they say: `capture --lines`.
#pragma once

#include <span>
#include <string>
#include <utility>
#include <vector>

#include "app/capture_words.h"
#include "app/operation.h"
#include "can/frame.h"
#include "capture/steady_clock.h"

namespace halfsplit::app {

// "903", "903-1040", several. Errors: capture.bad-lines.
using LineRanges = std::vector<std::pair<std::uint64_t, std::uint64_t>>;
[[nodiscard]] base::Result<LineRanges> read_line_ranges(const std::vector<std::string>& texts);

class ShownFrames {
 public:
  ShownFrames(LineRanges ranges, const can::Descriptions& descriptions);
  // Whether more may come.
  [[nodiscard]] bool take(std::span<const can::Frame> frames);
  [[nodiscard]] std::string text(const CaptureReport& report) const;
  [[nodiscard]] Json json(const CaptureReport& report) const;

 private:
  static constexpr std::size_t kMostShown = 2000;
  struct Shown {
    can::Frame frame;
    capture::Mark mark;
  };
  [[nodiscard]] std::vector<std::string> says(const can::Frame& frame) const;

  LineRanges ranges_;
  std::uint64_t last_line_ = 0;
  const can::Descriptions& descriptions_;
  capture::SteadyClock clock_;
  std::vector<Shown> shown_;
  std::uint64_t more_ = 0;
};

}  // namespace halfsplit::app
