// SPDX-License-Identifier: Apache-2.0
#include "capture/can_packet.h"

#include <cstring>

#include "capture/candump_line.h"

namespace halfsplit::capture {

namespace {

constexpr std::uint32_t kExtendedBit = 0x80000000, kRemoteBit = 0x40000000, kErrorBitOfId = 0x20000000;
constexpr std::uint8_t kFlexibleFlag = 0x04, kXlFlag = 0x80;
constexpr std::uint16_t kProtocolCan = 0x000C, kProtocolCanFd = 0x000D;
constexpr std::size_t kHead = 8, kFlexiblePacket = kHead + 64, kCookedHead = 16, kCooked2Head = 20;

std::uint32_t big_endian(const std::uint8_t* at, int bytes) {
  std::uint32_t value = 0;
  for (int i = 0; i < bytes; ++i) value = value << 8 | at[i];
  return value;
}

PacketKind read_socket_can(std::span<const std::uint8_t> packet, bool surely_flexible, can::Frame& frame) {
  if (packet.size() < kHead) return PacketKind::kDamaged;
  if ((packet[4] & kXlFlag) != 0) return PacketKind::kOther;
  const std::uint32_t head = big_endian(packet.data(), 4);
  const std::size_t length = packet[4];
  frame.kind = (head & kErrorBitOfId) != 0 ? can::FrameKind::kError
               : (head & kRemoteBit) != 0  ? can::FrameKind::kRemote
                                           : can::FrameKind::kData;
  frame.flexible = surely_flexible || (packet[5] & kFlexibleFlag) != 0 || packet.size() == kFlexiblePacket;
  frame.extended = frame.kind != can::FrameKind::kError && (head & kExtendedBit) != 0;
  frame.id = head & can::kLargestExtendedId;
  if (!frame.extended && frame.kind != can::FrameKind::kError && frame.id > can::kLargestStandardId)
    return PacketKind::kDamaged;
  if (length > (frame.flexible ? 64U : 8U) || (frame.flexible && !is_flexible_length(length)))
    return PacketKind::kDamaged;
  frame.length = static_cast<std::uint8_t>(length);
  if (frame.kind == can::FrameKind::kRemote) return frame.flexible ? PacketKind::kDamaged : PacketKind::kFrame;
  if (packet.size() < kHead + length) return PacketKind::kDamaged;
  if (length > 0) std::memcpy(frame.data.data(), packet.data() + kHead, length);
  return PacketKind::kFrame;
}

PacketKind read_cooked(std::span<const std::uint8_t> packet, std::size_t head, std::size_t protocol_at,
                       can::Frame& frame) {
  if (packet.size() < head) return PacketKind::kDamaged;
  const std::uint32_t protocol = big_endian(packet.data() + protocol_at, 2);
  if (protocol != kProtocolCan && protocol != kProtocolCanFd) return PacketKind::kOther;
  return read_socket_can(packet.subspan(head), protocol == kProtocolCanFd, frame);
}

}  // namespace

std::optional<PacketLink> find_packet_link(std::uint32_t link_type) {
  switch (link_type) {
    case 227:
      return PacketLink::kSocketCan;
    case 113:
      return PacketLink::kLinuxCooked;
    case 276:
      return PacketLink::kLinuxCooked2;
    default:
      return std::nullopt;
  }
}

PacketKind read_can_packet(PacketLink link, std::span<const std::uint8_t> packet, can::Frame& frame,
                           std::uint32_t& interface_number) {
  switch (link) {
    case PacketLink::kSocketCan:
      return read_socket_can(packet, false, frame);
    case PacketLink::kLinuxCooked:
      return read_cooked(packet, kCookedHead, kCookedHead - 2, frame);
    case PacketLink::kLinuxCooked2:
      if (packet.size() >= kCooked2Head) interface_number = big_endian(packet.data() + 4, 4);
      return read_cooked(packet, kCooked2Head, 0, frame);
  }
  return PacketKind::kOther;
}

}  // namespace halfsplit::capture
