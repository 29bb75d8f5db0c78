// SPDX-License-Identifier: Apache-2.0
// Frames out of any bytes, for fuzz targets: two bytes of milliseconds since the frame before, four of identifier (bit
// 31: 29 bits; bit 30: second channel), one of length (modulo 65), the data; numbers lowest byte first. A rest too
// short for a frame is its last one, cut off.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "can/frame.h"

namespace halfsplit::can {

[[nodiscard]] inline std::vector<Frame> fuzz_frames(const std::uint8_t* data, std::size_t size) {
  std::vector<Frame> frames;
  std::int64_t now_us = 0;
  for (std::size_t at = 0; at + 7 <= size;) {
    Frame frame;
    now_us += (data[at] | data[at + 1] << 8) * 1000;
    const std::uint32_t id = data[at + 2] | static_cast<std::uint32_t>(data[at + 3]) << 8 |
                             static_cast<std::uint32_t>(data[at + 4]) << 16 |
                             static_cast<std::uint32_t>(data[at + 5]) << 24;
    frame.time_us = now_us;
    frame.line = frames.size() + 1;
    frame.extended = (id & 0x80000000U) != 0;
    frame.channel = (id & 0x40000000U) != 0 ? 1 : 0;
    frame.id = id & (frame.extended ? kLargestExtendedId : kLargestStandardId);
    at += 7;
    frame.length = static_cast<std::uint8_t>(std::min<std::size_t>(data[at - 1] % 65, size - at));
    std::copy_n(data + at, frame.length, frame.data.begin());
    at += frame.length;
    frames.push_back(frame);
  }
  return frames;
}

}  // namespace halfsplit::can
