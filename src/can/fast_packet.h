// SPDX-License-Identifier: Apache-2.0
// Messages of 9 to 223 bytes in fast packets, as NMEA 2000 networks send them beside the transport protocol. Nothing in
// a frame says that it is one: the groups that are sent this way are a list (is_fast_packet). On road vehicles some of
// the same numbers are single frames, so the caller says whether a network is of that kind. Frames may come in any
// order; first frames that would complete what is older than they are begin anew. Memory: at most kMostFastPackets
// under way.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "can/frame.h"

namespace halfsplit::can {

constexpr std::size_t kLongestFastPacket = 223;  // 6 bytes and 31 times 7
constexpr std::size_t kMostFastPackets = 256;
constexpr std::int64_t kFastPacketWaitUs = 750'000;

[[nodiscard]] bool is_fast_packet(std::uint32_t pgn);

struct FastMessage {
  bool complete = false;
  std::uint8_t channel = 0, source = 0, destination = 0;
  std::uint8_t sequence = 0;  // 0 to 7
  std::uint32_t pgn = 0;
  std::uint16_t size = 0;     // bytes announced; 0: the first frame was not heard
  std::uint8_t received = 0;  // frames
  std::uint64_t first_line = 0, last_line = 0;
  std::int64_t first_us = 0, last_us = 0;
  std::vector<std::uint8_t> bytes;  // complete: `size` of them; else empty
};

class FastPackets {
 public:
  FastPackets();
  ~FastPackets();
  FastPackets(FastPackets&&) noexcept;
  FastPackets& operator=(FastPackets&&) noexcept;

  // Any frame; those of other groups cost a look-up.
  void take(const Frame& frame, std::vector<FastMessage>& ended);
  void finish(std::vector<FastMessage>& ended);

 private:
  struct Session;
  std::size_t begin(const Frame& frame, std::uint32_t pgn, std::vector<FastMessage>& ended);
  void settle(std::size_t at, std::vector<FastMessage>& ended);
  void expire(std::int64_t now_us, std::vector<FastMessage>& ended);
  [[nodiscard]] std::size_t find(const Frame& frame, std::uint32_t pgn) const;
  std::vector<Session> sessions_;
};

}  // namespace halfsplit::can
