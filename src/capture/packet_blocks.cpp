// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_blocks.h"

#include <algorithm>

namespace halfsplit::capture {

namespace {

constexpr std::uint32_t kMicroMagic = 0xA1B2C3D4, kNanoMagic = 0xA1B23C4D, kSectionBlock = 0x0A0D0D0A,
                        kByteOrderMagic = 0x1A2B3C4D;
constexpr std::uint32_t kInterfaceBlock = 1, kObsoletePacket = 2, kSimplePacket = 3, kStatisticsBlock = 5,
                        kEnhancedPacket = 6;
constexpr std::uint16_t kNameOption = 2, kLostOption = 5, kResolutionOption = 9, kOffsetOption = 14;
constexpr std::size_t kPcapHead = 24, kPcapRecord = 16;
constexpr std::size_t kLargestPacket = 256 * 1024;       // MAXIMUM_SNAPLEN of libpcap
constexpr std::size_t kLargestBlock = 16 * 1024 * 1024;  // as libpcap allows
constexpr std::size_t kMostInterfaces = 100'000;         // of all sections

std::uint32_t number_of(const std::uint8_t* at, int bytes, bool big_endian) {
  std::uint32_t value = 0;
  for (int i = 0; i < bytes; ++i) value |= std::uint32_t{at[i]} << (8 * (big_endian ? bytes - 1 - i : i));
  return value;
}
std::uint32_t four_of(const std::uint8_t* at, bool big_endian) {
  return big_endian ? std::uint32_t{at[0]} << 24 | std::uint32_t{at[1]} << 16 | std::uint32_t{at[2]} << 8 | at[3]
                    : std::uint32_t{at[3]} << 24 | std::uint32_t{at[2]} << 16 | std::uint32_t{at[1]} << 8 | at[0];
}
std::size_t padded(std::size_t length) { return (length + 3) / 4 * 4; }

}  // namespace

std::uint32_t PacketBlocks::number(const std::uint8_t* at, int bytes) const {
  return bytes == 4 ? four_of(at, big_endian_) : number_of(at, bytes, big_endian_);
}

bool PacketBlocks::stop_truncated() {
  truncated_ = over_ = true;
  return false;
}

bool PacketBlocks::stop_broken(const char* what) {
  over_ = true;
  problem_ = base::make_error("capture.broken-packets",
                              "byte " + std::to_string(bytes_.passed()) + " of the packet file: " + what,
                              "what stands before it was read; nothing behind it can be found");
  return false;
}

bool PacketBlocks::next(Packet& packet) {
  if (over_ || (!begun_ && !begin())) return false;
  bytes_.pass(std::exchange(shown_, 0));
  return pcapng_ ? next_of_pcapng(packet) : next_of_pcap(packet);
}

bool PacketBlocks::begin() {
  begun_ = true;
  const std::span<const std::uint8_t> head = bytes_.look(kPcapHead);
  if (head.size() < 4) return stop_truncated();
  pcapng_ = four_of(head.data(), false) == kSectionBlock;
  return pcapng_ || begin_pcap(head);
}

// --- pcap ------------------------------------------------------------------------------------------------------------

bool PacketBlocks::begin_pcap(std::span<const std::uint8_t> head) {
  if (head.size() < kPcapHead) return stop_truncated();
  const std::uint32_t first = four_of(head.data(), true);
  big_endian_ = first == kMicroMagic || first == kNanoMagic;
  PacketInterface only;
  only.link_type = number(head.data() + 20, 4) & 0xFFFF;
  only.clock.resolution = number(head.data(), 4) == kNanoMagic ? 9 : 6;
  interfaces_.push_back(std::move(only));
  bytes_.pass(kPcapHead);
  return true;
}

bool PacketBlocks::next_of_pcap(Packet& packet) {
  const std::span<const std::uint8_t> head = bytes_.look(kPcapRecord);
  if (head.empty()) {
    over_ = true;
    return false;
  }
  if (head.size() < kPcapRecord) return stop_truncated();
  const std::uint64_t seconds = number(head.data(), 4), fraction = number(head.data() + 4, 4);
  const std::size_t length = number(head.data() + 8, 4);
  if (length > kLargestPacket) return stop_broken("no packet is that long");
  const std::span<const std::uint8_t> whole = bytes_.look(kPcapRecord + length);
  if (whole.size() < kPcapRecord + length) return stop_truncated();
  shown_ = whole.size();
  const std::uint64_t second = interfaces_[0].clock.resolution == 9 ? 1'000'000'000 : 1'000'000;
  packet = {0, find_time_us(seconds * second + fraction, interfaces_[0].clock), whole.subspan(kPcapRecord)};
  return true;
}

// --- pcapng ----------------------------------------------------------------------------------------------------------

bool PacketBlocks::next_of_pcapng(Packet& packet) {
  std::uint32_t type = 0;
  std::span<const std::uint8_t> body;
  while (next_block(type, body)) {
    switch (type) {
      case kSectionBlock:
        if (!read_section(body)) return false;
        break;
      case kInterfaceBlock:
        read_interface(body);
        break;
      case kStatisticsBlock:
        read_statistics(body);
        break;
      case kEnhancedPacket:
        return read_enhanced(body, packet);
      case kObsoletePacket:
        return read_obsolete(body, packet);
      case kSimplePacket:
        return read_simple(body, packet);
      default:
        break;  // names, comments, what the draft says to pass over
    }
    if (interfaces_.size() > kMostInterfaces) return stop_broken("more interfaces than any machine has");
  }
  return false;
}

// The next block without its frame of type and lengths.
bool PacketBlocks::next_block(std::uint32_t& type, std::span<const std::uint8_t>& body) {
  bytes_.pass(std::exchange(shown_, 0));
  const std::span<const std::uint8_t> head = bytes_.look(12);
  if (head.empty()) {
    over_ = true;
    return false;
  }
  if (head.size() < 12) return stop_truncated();
  type = four_of(head.data(), big_endian_);
  if (type == kSectionBlock) {  // reads the same in both orders, and may change the order
    const std::uint32_t order = four_of(head.data() + 8, true);
    if (order != kByteOrderMagic && four_of(head.data() + 8, false) != kByteOrderMagic)
      return stop_broken("not the beginning of a section");
    big_endian_ = order == kByteOrderMagic;
  }
  const std::size_t length = number(head.data() + 4, 4);
  if (length < 12 || length % 4 != 0 || length > kLargestBlock) return stop_broken("not the length of a block");
  const std::span<const std::uint8_t> whole = bytes_.look(length);
  if (whole.size() < length) return stop_truncated();
  if (number(whole.data() + length - 4, 4) != length) return stop_broken("the two lengths of a block differ");
  shown_ = length;
  body = whole.subspan(8, length - 12);
  return true;
}

bool PacketBlocks::read_section(std::span<const std::uint8_t> body) {
  if (body.size() < 16) return stop_broken("a section with too short a head");
  if (number(body.data() + 4, 2) != 1) return stop_broken("a version of pcapng that is not known here");
  section_ = interfaces_.size();
  return true;
}

template <class Take>
void PacketBlocks::read_options(std::span<const std::uint8_t> options, Take take) const {
  while (options.size() >= 4) {
    const std::uint32_t code = number(options.data(), 2);
    const std::size_t length = number(options.data() + 2, 2);
    if (code == 0 || length > options.size() - 4) return;
    take(code, options.subspan(4, length));
    options = options.subspan(std::min(options.size(), 4 + padded(length)));
  }
}

void PacketBlocks::read_interface(std::span<const std::uint8_t> body) {
  PacketInterface interface;
  if (body.size() >= 8) {
    interface.link_type = number(body.data(), 2);
    interface.longest = number(body.data() + 4, 4);
    read_options(body.subspan(8), [&](std::uint32_t code, std::span<const std::uint8_t> value) {
      if (code == kNameOption) interface.name.assign(value.begin(), std::find(value.begin(), value.end(), 0));
      if (code == kResolutionOption && !value.empty()) interface.clock.resolution = value[0];
      if (code == kOffsetOption && value.size() == 8) {
        const std::uint64_t low = number(value.data() + (big_endian_ ? 4 : 0), 4);
        const std::uint64_t high = number(value.data() + (big_endian_ ? 0 : 4), 4);
        interface.clock.offset_s = static_cast<std::int64_t>(high << 32 | low);
      }
    });
  }
  interfaces_.push_back(std::move(interface));
}

// The tap's own count of what it lost, so far.
void PacketBlocks::read_statistics(std::span<const std::uint8_t> body) {
  if (body.size() < 12) return;
  const std::size_t which = section_ + number(body.data(), 4);
  if (which >= interfaces_.size()) return;
  read_options(body.subspan(12), [&](std::uint32_t code, std::span<const std::uint8_t> value) {
    if (code == kLostOption && value.size() == 8)
      interfaces_[which].lost = number(value.data() + (big_endian_ ? 4 : 0), 4);
  });
}

bool PacketBlocks::read_enhanced(std::span<const std::uint8_t> body, Packet& packet) {
  if (body.size() < 20) return stop_broken("a packet block with too short a head");
  const std::uint64_t ticks = std::uint64_t{number(body.data() + 4, 4)} << 32 | number(body.data() + 8, 4);
  return take_packet(number(body.data(), 4), ticks, body.subspan(20), number(body.data() + 12, 4), packet);
}

bool PacketBlocks::read_obsolete(std::span<const std::uint8_t> body, Packet& packet) {
  if (body.size() < 20) return stop_broken("a packet block with too short a head");
  const std::uint64_t ticks = std::uint64_t{number(body.data() + 4, 4)} << 32 | number(body.data() + 8, 4);
  return take_packet(number(body.data(), 2), ticks, body.subspan(20), number(body.data() + 12, 4), packet);
}

// Of the first interface, and without a time.
bool PacketBlocks::read_simple(std::span<const std::uint8_t> body, Packet& packet) {
  if (body.size() < 4) return stop_broken("a packet block with too short a head");
  std::size_t length = number(body.data(), 4);
  if (section_ < interfaces_.size() && interfaces_[section_].longest > 0)
    length = std::min<std::size_t>(length, interfaces_[section_].longest);
  return take_packet(0, 0, body.subspan(4), length, packet);
}

bool PacketBlocks::take_packet(std::size_t number_in_section, std::uint64_t ticks, std::span<const std::uint8_t> rest,
                               std::size_t length, Packet& packet) {
  if (length > rest.size()) return stop_broken("a packet longer than its block");
  packet.interface = section_ + number_in_section;
  if (packet.interface >= interfaces_.size())
    return stop_broken("a packet of an interface that the file does not name");
  packet.time_us = find_time_us(ticks, interfaces_[packet.interface].clock);
  packet.bytes = rest.first(length);
  return true;
}

}  // namespace halfsplit::capture
