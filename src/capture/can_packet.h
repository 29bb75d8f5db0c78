// SPDX-License-Identifier: Apache-2.0
// One packet of a packet file as a frame. Sources: the pages of link types 227 (SocketCAN), 113 and 276 (Linux cooked)
// of tcpdump.org, as checked with what tshark shows of the same bytes; flags of linux/can.h and linux/can/error.h.
// Pure.
#pragma once

#include <cstdint>
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
  kDamaged,  // too short, a length that no frame has
};

// Fills `frame` but for time, line and channel. `interface_number`: of kLinuxCooked2, else left alone.
[[nodiscard]] PacketKind read_can_packet(PacketLink link, std::span<const std::uint8_t> packet, can::Frame& frame,
                                         std::uint32_t& interface_number);

}  // namespace halfsplit::capture
