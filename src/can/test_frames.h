// SPDX-License-Identifier: Apache-2.0
// Frames for tests, one after the other: each a line later and, unless told otherwise, a millisecond later.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "can/frame.h"

namespace halfsplit::can {

class TestFrames {
 public:
  // 29 bits when above 11.
  [[nodiscard]] Frame next(std::uint32_t id, const std::vector<std::uint8_t>& bytes, std::int64_t after_ms = 1) {
    Frame frame;
    now_us_ += after_ms * 1000;
    frame.time_us = now_us_;
    frame.line = ++line_;
    frame.id = id;
    frame.extended = id > kLargestStandardId;
    frame.length = static_cast<std::uint8_t>(bytes.size());
    frame.flexible = bytes.size() > 8;
    std::copy(bytes.begin(), bytes.end(), frame.data.begin());
    return frame;
  }
  [[nodiscard]] std::int64_t now_us() const { return now_us_; }

 private:
  std::int64_t now_us_ = 0;
  std::uint64_t line_ = 0;
};

}  // namespace halfsplit::can
