// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_frames.h"

#include <algorithm>
#include <map>
#include <utility>

namespace halfsplit::capture {

namespace {

constexpr std::int64_t kEarliestDateUs = 100'000'000'000'000;  // 1973: a smaller time is no date
constexpr std::size_t kMostPacketChannels = 255;

// What is known of an interface whose packets come.
struct KnownInterface {
  std::size_t number = ~std::size_t{0};
  std::optional<PacketLink> link;
  const PacketInterface* interface = nullptr;
  bool usual = false;  // SocketCAN with a plain clock
};

class PieceReader {
 public:
  PieceReader(const PacketPiece& piece, const PacketInterfaces& interfaces, PacketFrames& into, FrameRoom room)
      : piece_(piece), interfaces_(interfaces), into_(into), room_(room) {}

  void read() {
    const std::uint8_t* at = piece_.blocks.data();
    const std::uint8_t* end = at + piece_.blocks.size();
    while (at < end) at = piece_.pcapng ? read_block(at) : read_record(at);
    room_.finish();
  }

 private:
  [[nodiscard, gnu::always_inline]] std::uint32_t four(const std::uint8_t* at) const {
    return packet_number(at, section_.big_endian);
  }

  const std::uint8_t* read_record(const std::uint8_t* at) {
    const std::size_t length = four(at + 8);
    know(0);
    const std::uint64_t second = known_.interface->clock.resolution == 9 ? 1'000'000'000 : 1'000'000;
    take(std::uint64_t{four(at)} * second + four(at + 4), {at + kPcapRecordHead, length});
    return at + kPcapRecordHead + length;
  }

  const std::uint8_t* read_block(const std::uint8_t* at) {
    const std::uint32_t type = four(at);
    if (type == static_cast<std::uint32_t>(PacketBlock::kSection)) section_ = piece_.sections[++sections_];
    const std::size_t length = four(at + 4);
    const std::uint8_t* body = at + 8;
    switch (static_cast<PacketBlock>(type)) {
      case PacketBlock::kEnhancedPacket:
        know(section_.first_interface + four(body));
        take(std::uint64_t{four(body + 4)} << 32 | four(body + 8), {body + 20, four(body + 12)});
        break;
      case PacketBlock::kObsoletePacket:
        know(section_.first_interface + packet_short(body, section_.big_endian));
        take(std::uint64_t{four(body + 4)} << 32 | four(body + 8), {body + 20, four(body + 12)});
        break;
      case PacketBlock::kSimplePacket:
        read_simple(body);
        break;
      default:
        break;
    }
    return at + length;
  }

  // Of the first interface, and without a time.
  void read_simple(const std::uint8_t* body) {
    know(section_.first_interface);
    std::size_t length = four(body);
    if (known_.interface->longest > 0) length = std::min<std::size_t>(length, known_.interface->longest);
    take(0, {body + 4, length});
  }

  void know(std::size_t number) {
    if (known_.number == number) return;
    const PacketInterface& interface = interfaces_[number];
    known_ = {number, find_packet_link(interface.link_type), &interface, false};
    known_.usual = known_.link == PacketLink::kSocketCan && is_plain_clock(interface.clock);
  }

  // Always inline: in a large unit the compiler would leave several calls for every packet.
  [[gnu::always_inline]] void take(std::uint64_t ticks, std::span<const std::uint8_t> packet) {
    ++into_.packets;
    if (room_.left() == 0) room_.make();
    can::Frame& frame = *room_.next();
    if (known_.usual && ticks < kMicrosecondsTo9999 && read_usual_packet(packet, frame))
      return place(frame, static_cast<std::int64_t>(ticks), 0);
    take_unusual(frame, ticks, packet);
  }

  void take_unusual(can::Frame& frame, std::uint64_t ticks, std::span<const std::uint8_t> packet) {
    std::uint32_t interface_number = 0;
    const PacketKind kind =
        known_.link ? read_can_packet(*known_.link, packet, frame, interface_number) : PacketKind::kOther;
    if (kind == PacketKind::kOther) {
      ++into_.skipped;
      return;
    }
    if (kind == PacketKind::kDamaged) return damage("not a frame: a length or an identifier that no frame has");
    const std::optional<std::int64_t> time_us = find_time_us(ticks, known_.interface->clock);
    if (!time_us) return damage("a time outside the years 0 to 9999");
    place(frame, *time_us, interface_number);
  }

  [[gnu::always_inline]] void place(can::Frame& frame, std::int64_t time_us, std::uint32_t interface_number) {
    frame.time_us = time_us;
    frame.line = into_.packets;
    frame.channel = channel_of(interface_number);
    if (into_.count++ == 0) into_.first_time_us = into_.last_time_us = time_us;
    into_.backwards += time_us < into_.last_time_us ? 1 : 0;
    into_.last_time_us = time_us;
    room_.filled();
  }

  void damage(const char* what) {
    ++into_.damaged;
    if (into_.first_damage.size() < kKeptDamage) into_.first_damage.push_back({into_.packets, 0, what});
  }

  [[gnu::always_inline]] std::uint8_t channel_of(std::uint32_t interface_number) {
    const bool same = known_.number == last_key_.first && interface_number == last_key_.second;
    return same ? last_channel_ : find_channel(interface_number);
  }
  std::uint8_t find_channel(std::uint32_t interface_number) {
    const std::pair<std::size_t, std::uint32_t> key{known_.number, interface_number};  // 0 but for kLinuxCooked2
    const auto [found, is_new] = numbers_.try_emplace(key, std::uint8_t{0});
    if (is_new) found->second = number_of_name(name_of(interface_number));
    last_key_ = key;
    last_channel_ = found->second;
    return last_channel_;
  }
  [[nodiscard]] std::string name_of(std::uint32_t interface_number) const {
    if (*known_.link == PacketLink::kLinuxCooked2) return "interface " + std::to_string(interface_number);
    if (!known_.interface->name.empty()) return known_.interface->name;
    return piece_.pcapng ? "interface " + std::to_string(known_.number) : "bus";
  }
  std::uint8_t number_of_name(const std::string& name) {
    std::vector<std::string>& names = into_.channels;
    auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end() && names.size() < kMostPacketChannels) found = names.insert(found, name);
    return static_cast<std::uint8_t>(found - names.begin());
  }

  const PacketPiece& piece_;
  const PacketInterfaces& interfaces_;
  PacketFrames& into_;
  FrameRoom room_;
  PacketSection section_ = piece_.sections.front();
  std::size_t sections_ = 0;
  KnownInterface known_;
  std::map<std::pair<std::size_t, std::uint32_t>, std::uint8_t> numbers_;
  std::pair<std::size_t, std::uint32_t> last_key_{~std::size_t{0}, 0};
  std::uint8_t last_channel_ = 0;
};

void read_into(FrameRoom room, const PacketPiece& piece, const PacketInterfaces& interfaces, PacketFrames& into) {
  static_cast<PacketCounts&>(into) = {};
  into.channels = into.known;
  PieceReader(piece, interfaces, into, room).read();
}

// What it knew must not take room from what it holds.
bool is_short_of_channels(const PacketFrames& piece) {
  return piece.channels.size() >= kMostPacketChannels && !piece.known.empty();
}

}  // namespace

void read_packet_piece(const PacketPiece& piece, const PacketInterfaces& interfaces, PacketFrames& into) {
  read_into(FrameRoom(into.frames), piece, interfaces, into);
  if (is_short_of_channels(into)) {
    into.known.clear();
    read_into(FrameRoom(into.frames), piece, interfaces, into);
  }
}

bool look_at_packet_piece(const PacketPiece& piece, const PacketInterfaces& interfaces, PacketFrames& into,
                          const FrameLook& look) {
  read_into(FrameRoom(into.frames, look), piece, interfaces, into);
  if (!is_short_of_channels(into)) return true;
  read_packet_piece(piece, interfaces, into);
  return false;
}

void PacketOrder::begin(PacketFrames& piece, Recording& recording) {
  for (Damage& damage : piece.first_damage) {
    if (recording.first_damage.size() == kKeptDamage) break;
    damage.line += recording.lines;
    recording.first_damage.push_back(std::move(damage));
  }
  same_channels_ = true;
  for (std::size_t i = 0; i < piece.channels.size(); ++i) {
    auto found = std::find(recording.channels.begin(), recording.channels.end(), piece.channels[i]);
    if (found == recording.channels.end() && recording.channels.size() < kMostPacketChannels)
      found = recording.channels.insert(found, piece.channels[i]);
    channel_[i] = static_cast<std::uint8_t>(found - recording.channels.begin());  // 255 stands for all those too many
    same_channels_ = same_channels_ && channel_[i] == i;
  }
  channel_[kMostPacketChannels] = kMostPacketChannels;
  packets_ahead_ = recording.lines;
  recording.lines += piece.packets;
  recording.skipped += piece.skipped;
  recording.damaged += piece.damaged;
  if (piece.count == 0) return;
  recording.backwards += piece.backwards;
  if (!last_time_us_)
    recording.time_base = piece.first_time_us >= kEarliestDateUs ? TimeBase::kAbsolute : TimeBase::kRelative;
  else if (piece.first_time_us < *last_time_us_)
    ++recording.backwards;
  last_time_us_ = piece.last_time_us;
}

void PacketOrder::let_go(PacketFrames& piece, const Recording& recording) {
  if (recording.channels.size() > kMostKnownChannels)
    piece.known.clear();
  else if (piece.known.size() != recording.channels.size())
    piece.known = recording.channels;
}

void PacketOrder::settle(std::span<can::Frame> frames) const {
  for (can::Frame& frame : frames) frame.line += packets_ahead_;
  if (same_channels_) return;
  for (can::Frame& frame : frames) frame.channel = channel_[frame.channel];
}

}  // namespace halfsplit::capture
