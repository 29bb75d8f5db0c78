// SPDX-License-Identifier: Apache-2.0
// One frame as a tap on a bus recorded it. A plain value without ownership; readers fill batches of them, analyses take
// them in the order of the file. Time: microseconds since 1970-01-01 UTC, or since the start of the recording where the
// file tells only that (Recording::time_base says which).
#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace halfsplit::can {

constexpr std::uint32_t kLargestStandardId = 0x7FF;
constexpr std::uint32_t kLargestExtendedId = 0x1FFFFFFF;

enum class FrameKind : std::uint8_t {
  kData,
  kRemote,
  kError,  // the adapter's own report of an error on the bus; `id` holds its error class bits (linux/can/error.h)
};

struct Frame {  // NOLINT(cppcoreguidelines-pro-type-member-init): 64 bytes for each of millions
  std::int64_t time_us = 0;
  std::uint64_t line = 0;  // from 1: line of a text file, packet of a packet file, frame of a live tap
  std::uint32_t id = 0;    // 11 or 29 bits
  FrameKind kind = FrameKind::kData;
  bool extended = false;
  bool flexible = false;              // CAN FD
  std::uint8_t channel = 0;           // which adapter channel: 0 the first one named in the file
  std::uint8_t length = 0;            // bytes that count in `data`; of a remote frame the length asked for
  std::array<std::uint8_t, 64> data;  // not initialised beyond `length`

  [[nodiscard]] std::span<const std::uint8_t> bytes() const {
    return {data.data(), kind == FrameKind::kRemote ? 0U : length};
  }
};

}  // namespace halfsplit::can
