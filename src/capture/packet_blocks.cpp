// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_blocks.h"

#include <algorithm>
#include <numeric>
#include <utility>

namespace halfsplit::capture {

namespace {

constexpr std::uint32_t kMicroMagic = 0xA1B2C3D4, kNanoMagic = 0xA1B23C4D, kByteOrderMagic = 0x1A2B3C4D;
constexpr auto kSectionType = static_cast<std::uint32_t>(PacketBlock::kSection);
constexpr std::uint32_t kNameOption = 2, kLostOption = 5, kResolutionOption = 9, kOffsetOption = 14;
constexpr std::size_t kPcapHead = 24, kBlockHead = 12;   // of a block with its length at the end
constexpr std::size_t kLargestPacket = 256 * 1024;       // MAXIMUM_SNAPLEN of libpcap
constexpr std::size_t kLargestBlock = 16 * 1024 * 1024;  // as libpcap allows
constexpr std::size_t kPieceOfPackets = 128 * 1024;

std::size_t padded(std::size_t length) { return (length + 3) / 4 * 4; }

}  // namespace

bool PacketBlocks::stop_truncated() {
  truncated_ = over_ = true;
  return false;
}

bool PacketBlocks::stop_broken(const char* what) {
  over_ = true;
  problem_ =
      base::make_error("capture.broken-packets", "byte " + std::to_string(passed_) + " of the packet file: " + what,
                       "what stands before it was read; nothing behind it can be found");
  return false;
}

std::uint64_t PacketBlocks::lost() const { return std::accumulate(lost_.begin(), lost_.end(), std::uint64_t{0}); }

void PacketBlocks::fill(base::ByteSource& bytes, std::vector<std::uint8_t>& room, std::size_t& used,
                        std::size_t wanted) {
  if (room.size() < wanted) room.resize(wanted);
  while (used < wanted && !source_over_) {
    const std::size_t got = bytes.read({reinterpret_cast<char*>(room.data()) + used, wanted - used});
    source_over_ = got == 0;
    used += got;
  }
}

bool PacketBlocks::fetch(base::ByteSource& bytes, PacketPiece& piece) {
  if (over_) return false;
  std::vector<std::uint8_t>& room = piece.room;
  if (room.size() < ahead_.size()) room.resize(ahead_.size());
  std::size_t used = static_cast<std::size_t>(std::copy(ahead_.begin(), ahead_.end(), room.begin()) - room.begin());
  fill(bytes, room, used, std::max(used, kPieceOfPackets));
  const std::uint64_t before = passed_;
  std::size_t at = begun_ ? 0 : begin(Bytes(room).first(used));
  const std::size_t first = at;
  piece.pcapng = pcapng_;
  piece.sections.assign(1, {section_, big_endian_});
  while (!over_) {
    if (pcapng_) at += length_of_usual_blocks(Bytes(room).subspan(at, used - at));
    passed_ = before + at;
    const std::size_t length = walk(Bytes(room).subspan(at, used - at), piece);
    at += length;
    if (length > 0 || over_) continue;
    if (source_over_ && at < used) stop_truncated();
    over_ = over_ || source_over_;
    if (at > first) break;
    fill(bytes, room, used, at + wanted_);  // nothing yet: a block longer than a piece
  }
  passed_ = before + at;
  ahead_.assign(room.begin() + static_cast<std::ptrdiff_t>(at), room.begin() + static_cast<std::ptrdiff_t>(used));
  piece.blocks = Bytes(room).subspan(first, at - first);
  piece.bytes = at;
  return at > 0;
}

// Bytes of the head.
std::size_t PacketBlocks::begin(Bytes head) {
  begun_ = true;
  if (head.size() < 4) return stop_truncated(), 0;
  pcapng_ = packet_number(head.data(), false) == kSectionType;
  if (pcapng_) return 0;
  if (head.size() < kPcapHead) return stop_truncated(), 0;
  const std::uint32_t first = packet_number(head.data(), true);
  big_endian_ = first == kMicroMagic || first == kNanoMagic;
  PacketInterface only;
  only.link_type = four(head.data() + 20) & 0xFFFF;
  only.clock.resolution = four(head.data()) == kNanoMagic ? 9 : 6;
  interfaces_->add(std::move(only));
  return kPcapHead;
}

// The length of the block that begins there; 0: the reading stops there, or only wanted_ bytes would show it.
std::size_t PacketBlocks::walk(Bytes rest, PacketPiece& piece) {
  const std::size_t length = pcapng_ ? length_of_block(rest) : length_of_record(rest);
  if (length == 0 || !pcapng_) return length;
  const std::uint32_t type = four(rest.data());
  return see_block(type, rest.subspan(8, length - kBlockHead), piece) ? length : 0;
}

// --- pcap ------------------------------------------------------------------------------------------------------------

std::size_t PacketBlocks::length_of_record(Bytes rest) {
  wanted_ = kPcapRecordHead;
  if (rest.size() < wanted_) return 0;
  const std::size_t length = four(rest.data() + 8);
  if (length > kLargestPacket) return stop_broken("no packet is that long"), 0;
  wanted_ = kPcapRecordHead + length;
  return rest.size() < wanted_ ? 0 : wanted_;
}

// --- pcapng ----------------------------------------------------------------------------------------------------------

std::size_t PacketBlocks::length_of_block(Bytes rest) {
  wanted_ = kBlockHead;
  if (rest.size() < wanted_) return 0;
  if (four(rest.data()) == kSectionType) {  // reads the same in both orders, and may change the order
    const std::uint32_t order = packet_number(rest.data() + 8, true);
    if (order != kByteOrderMagic && packet_number(rest.data() + 8, false) != kByteOrderMagic)
      return stop_broken("not the beginning of a section"), 0;
    big_endian_ = order == kByteOrderMagic;
  }
  const std::size_t length = four(rest.data() + 4);
  if (length < kBlockHead || length % 4 != 0 || length > kLargestBlock)
    return stop_broken("not the length of a block"), 0;
  wanted_ = length;
  if (rest.size() < wanted_) return 0;
  if (four(rest.data() + length - 4) != length) return stop_broken("the two lengths of a block differ"), 0;
  return length;
}

// Of as many packets as there are in their usual form, each in a sound block of its own and whole.
std::size_t PacketBlocks::length_of_usual_blocks(Bytes rest) const {
  const std::size_t interfaces = interfaces_->size() - section_;
  const bool big_endian = big_endian_;
  const auto number = [&](std::size_t at) { return packet_number(rest.data() + at, big_endian); };
  std::size_t at = 0;
  while (rest.size() - at >= kBlockHead + 20) {
    const std::size_t length = number(at + 4);
    const bool whole = length >= kBlockHead + 20 && length % 4 == 0 && length <= rest.size() - at;
    if (!whole || number(at) != static_cast<std::uint32_t>(PacketBlock::kEnhancedPacket)) break;
    if (number(at + length - 4) != length || number(at + 8) >= interfaces) break;
    if (number(at + 20) > length - kBlockHead - 20) break;
    at += length;
  }
  return at;
}

bool PacketBlocks::see_block(std::uint32_t type, Bytes body, PacketPiece& piece) {
  constexpr const char* kShortHead = "a packet block with too short a head";
  switch (static_cast<PacketBlock>(type)) {
    case PacketBlock::kEnhancedPacket:
      if (body.size() < 20) return stop_broken(kShortHead);
      return see_packet(four(body.data()), four(body.data() + 12), body.size() - 20);
    case PacketBlock::kObsoletePacket:
      if (body.size() < 20) return stop_broken(kShortHead);
      return see_packet(two(body.data()), four(body.data() + 12), body.size() - 20);
    case PacketBlock::kSimplePacket: {
      if (body.size() < 4) return stop_broken(kShortHead);
      std::size_t length = four(body.data());
      if (section_ < interfaces_->size() && (*interfaces_)[section_].longest > 0)
        length = std::min<std::size_t>(length, (*interfaces_)[section_].longest);
      return see_packet(0, length, body.size() - 4);
    }
    case PacketBlock::kSection:
      return read_section(body, piece);
    case PacketBlock::kInterface:
      return read_interface(body);
    case PacketBlock::kStatistics:
      read_statistics(body);
      return true;
  }
  return true;  // names, comments, what the draft says to pass over
}

bool PacketBlocks::see_packet(std::size_t number_in_section, std::size_t length, std::size_t room) {
  if (length > room) return stop_broken("a packet longer than its block");
  if (section_ + number_in_section < interfaces_->size()) return true;
  return stop_broken("a packet of an interface that the file does not name");
}

bool PacketBlocks::read_section(Bytes body, PacketPiece& piece) {
  if (body.size() < 16) return stop_broken("a section with too short a head");
  if (two(body.data() + 4) != 1) return stop_broken("a version of pcapng that is not known here");
  section_ = interfaces_->size();
  piece.sections.push_back({section_, big_endian_});
  return true;
}

template <class Take>
void PacketBlocks::read_options(Bytes options, Take take) const {
  while (options.size() >= 4) {
    const std::uint32_t code = two(options.data());
    const std::size_t length = two(options.data() + 2);
    if (code == 0 || length > options.size() - 4) return;
    take(code, options.subspan(4, length));
    options = options.subspan(std::min(options.size(), 4 + padded(length)));
  }
}

bool PacketBlocks::read_interface(Bytes body) {
  PacketInterface interface;
  if (body.size() >= 8) {
    interface.link_type = two(body.data());
    interface.longest = four(body.data() + 4);
    read_options(body.subspan(8), [&](std::uint32_t code, Bytes value) {
      if (code == kNameOption) interface.name.assign(value.begin(), std::find(value.begin(), value.end(), 0));
      if (code == kResolutionOption && !value.empty()) interface.clock.resolution = value[0];
      if (code == kOffsetOption && value.size() == 8) {
        const std::uint64_t low = four(value.data() + (big_endian_ ? 4 : 0));
        const std::uint64_t high = four(value.data() + (big_endian_ ? 0 : 4));
        interface.clock.offset_s = static_cast<std::int64_t>(high << 32 | low);
      }
    });
  }
  interfaces_->add(std::move(interface));
  return interfaces_->size() <= PacketInterfaces::kMost || stop_broken("more interfaces than any machine has");
}

// The tap's own count of what it lost, so far.
void PacketBlocks::read_statistics(Bytes body) {
  if (body.size() < 12) return;
  const std::size_t which = section_ + four(body.data());
  if (which >= interfaces_->size()) return;
  read_options(body.subspan(12), [&](std::uint32_t code, Bytes value) {
    if (code != kLostOption || value.size() != 8) return;
    if (which >= lost_.size()) lost_.resize(which + 1);
    lost_[which] = four(value.data() + (big_endian_ ? 4 : 0));
  });
}

}  // namespace halfsplit::capture
