// SPDX-License-Identifier: Apache-2.0
// Time stamps of packet files in microseconds. Source: draft pcapng, if_tsresol (section 4.2) and if_tsoffset.
#pragma once

#include <cstdint>
#include <optional>

namespace halfsplit::capture {

struct PacketClock {
  std::uint8_t resolution = 6;  // as if_tsresol: power of ten, or with the top bit of two, that a tick is one part of
  std::int64_t offset_s = 0;    // added to every time
};

constexpr std::uint64_t kMicrosecondsTo9999 = 253'402'300'799'000'000;  // 9999-12-31 23:59:59

// Ticks are microseconds since 1970, as nearly every tap writes them.
[[nodiscard]] constexpr bool is_plain_clock(const PacketClock& clock) {
  return clock.resolution == 6 && clock.offset_s == 0;
}
// None: outside the years 0 to 9999, which no tap means.
[[nodiscard]] std::optional<std::int64_t> find_time_us(std::uint64_t ticks, const PacketClock& clock);

}  // namespace halfsplit::capture
