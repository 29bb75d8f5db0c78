// SPDX-License-Identifier: Apache-2.0
// The packets of a piece as frames, read by any hand: packets, times and channels are counted from the piece's own
// beginning. PacketOrder then gives it its place behind the pieces ahead, in their order.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capture/can_packet.h"
#include "capture/frame_room.h"
#include "capture/frame_source.h"
#include "capture/packet_blocks.h"

namespace halfsplit::capture {

// What was found in a piece, its frames aside.
struct PacketCounts {
  std::size_t count = 0;  // frames
  std::uint64_t packets = 0, skipped = 0, damaged = 0, backwards = 0;
  std::int64_t first_time_us = 0, last_time_us = 0;  // of frames
  std::vector<std::string> channels;                 // in the order they appear; what is too many has the number 255
  std::vector<Damage> first_damage;
};

struct PacketFrames : PacketCounts {
  std::vector<can::Frame> frames;  // room, of which `count` are filled
  std::vector<std::string> known;  // channels of the pieces ahead; their numbers come first
};

// All of a piece; the same frames however often it is read.
void read_packet_piece(const PacketPiece& piece, const PacketInterfaces& interfaces, PacketFrames& into);
// The same without keeping frames: `look` gets them, some at a time. False: they are kept, as settling would have
// altered them.
[[nodiscard]] bool look_at_packet_piece(const PacketPiece& piece, const PacketInterfaces& interfaces,
                                        PacketFrames& into, const FrameLook& look);

// `begin` brings `recording` up to date, then `settle` gives the frames of that piece, some at a time and in order,
// their packet and channel in the whole. `let_go` makes it ready for another piece; until then it may be read again.
class PacketOrder {
 public:
  void begin(PacketFrames& piece, Recording& recording);
  void settle(std::span<can::Frame> frames) const;
  static void let_go(PacketFrames& piece, const Recording& recording);
  // What settling adds to the lines, if it alters nothing else.
  [[nodiscard]] std::optional<std::uint64_t> only_lines() const {
    return same_channels_ ? std::optional(packets_ahead_) : std::nullopt;
  }

 private:
  std::optional<std::int64_t> last_time_us_;
  std::uint64_t packets_ahead_ = 0;
  bool same_channels_ = true;
  std::array<std::uint8_t, 256> channel_{};  // of the piece's number
};

}  // namespace halfsplit::capture
