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

// None: outside the years 0 to 9999, which no tap means.
[[nodiscard]] std::optional<std::int64_t> find_time_us(std::uint64_t ticks, const PacketClock& clock);

}  // namespace halfsplit::capture
