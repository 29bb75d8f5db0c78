// SPDX-License-Identifier: Apache-2.0
// One packet of a packet file as a frame. Sources: the pages of link types 227 (SocketCAN), 113 and 276 (Linux cooked)
// of tcpdump.org, as checked with what tshark shows of the same bytes; flags of linux/can.h and linux/can/error.h.
// Pure.
#pragma once

#include <cstdint>
#include <cstring>
#include <optional>
#include <span>

#include "can/frame.h"

namespace halfsplit::capture {

enum class PacketLink : std::uint8_t {
  kSocketCan,     // 227: identifier and flags (4, the highest byte first), length, flags of CAN FD, 2 unused, data
  kLinuxCooked,   // 113: 16 bytes about the interface, the last two the protocol, then as kSocketCan
  kLinuxCooked2,  // 276: protocol first, 20 bytes in all, with the number of the interface
};
// Of the number in the file; none: no link that carries CAN.
[[nodiscard]] std::optional<PacketLink> find_packet_link(std::uint32_t link_type);

enum class PacketKind : std::uint8_t {
  kFrame,
  kOther,    // of another protocol, or CAN XL
  kDamaged,  // too short, a length that no frame has, a remote frame of CAN FD
};

// The packet that nearly every file is full of: of kSocketCan, 29 bits, eight bytes of data, classic, no more bytes
// than that. False: it is another one, which read_can_packet() reads. Fills `frame` but for time, line and channel.
[[nodiscard]] inline bool read_usual_packet(std::span<const std::uint8_t> packet, can::Frame& frame) {
  constexpr std::uint8_t kNotClassic = 0x04;
  if (packet.size() != 16 || packet[4] != 8 || (packet[5] & kNotClassic) != 0 || packet[0] >> 5 != 4) return false;
  frame.id =
      (std::uint32_t{packet[0]} << 24 | std::uint32_t{packet[1]} << 16 | std::uint32_t{packet[2]} << 8 | packet[3]) &
      can::kLargestExtendedId;
  frame.kind = can::FrameKind::kData;
  frame.extended = true;
  frame.flexible = false;
  frame.length = 8;
  std::memcpy(frame.data.data(), packet.data() + 8, 8);
  return true;
}

// Fills `frame` but for time, line and channel. `interface_number`: of kLinuxCooked2, else left alone.
[[nodiscard]] PacketKind read_can_packet(PacketLink link, std::span<const std::uint8_t> packet, can::Frame& frame,
                                         std::uint32_t& interface_number);

}  // namespace halfsplit::capture
