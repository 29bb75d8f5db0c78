// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_file.h"

#include <algorithm>
#include <array>
#include <map>
#include <string>
#include <utility>

#include "capture/can_packet.h"
#include "capture/packet_blocks.h"

namespace halfsplit::capture {

namespace {

constexpr std::int64_t kEarliestDateUs = 100'000'000'000'000;  // 1973: a smaller time is no date
constexpr std::size_t kLongBatch = 4096;                       // so that handing over costs little beside reading
constexpr std::size_t kMostPacketChannels = 255;
constexpr std::array<std::string_view, 5> kMagics = {std::string_view("\xA1\xB2\xC3\xD4", 4),
                                                     {"\xD4\xC3\xB2\xA1", 4},
                                                     {"\xA1\xB2\x3C\x4D", 4},
                                                     {"\x4D\x3C\xB2\xA1", 4},
                                                     {"\x0A\x0D\x0D\x0A", 4}};

class PacketFile final : public FrameSource {
 public:
  PacketFile(std::unique_ptr<base::ByteSource> bytes, base::Workers& workers)
      : blocks_(std::move(bytes)), workers_(workers) {}

  [[nodiscard]] std::size_t next(std::span<can::Frame> into) override {
    const std::size_t count = fill(into);
    show();
    return count;
  }

  // One batch is handed on while the next is read.
  void deliver(const std::function<bool(std::span<const can::Frame>)>& take_all) override {
    std::array<std::vector<can::Frame>, 2> batches;
    for (auto& batch : batches) batch.resize(kLongBatch);
    std::size_t turn = 0, count = fill(batches[0]);
    for (bool wanted = true; wanted && count > 0; ++turn) {
      const std::span<const can::Frame> here = std::span(batches[turn % 2]).first(count);
      show();
      workers_.run(2, [&](std::size_t part) {
        if (part == 0) wanted = take_all(here);
        if (part == 1) count = fill(batches[(turn + 1) % 2]);
      });
    }
    show();
  }

  [[nodiscard]] const Recording& recording() const override { return shown_; }
  [[nodiscard]] std::optional<double> fraction() const override { return shown_fraction_; }

 private:
  void show() {
    shown_ = recording_;
    shown_fraction_ = fraction_;
  }

  std::size_t fill(std::span<can::Frame> into) {
    std::size_t count = 0;
    Packet packet;
    while (count < into.size()) {
      if (!blocks_.next(packet)) {
        end();
        break;
      }
      if (take(packet, into[count])) ++count;
    }
    recording_.bytes = blocks_.bytes().passed();
    recording_.frames += count;
    const std::optional<std::uint64_t> size = blocks_.bytes().beneath().size();
    if (size && *size > 0)
      fraction_ = std::min(1.0, static_cast<double>(blocks_.bytes().beneath().taken()) / static_cast<double>(*size));
    return count;
  }

  void end() {
    recording_.format = blocks_.is_pcapng() ? "pcapng" : "pcap";
    recording_.truncated = blocks_.truncated() || blocks_.problem().has_value();
    recording_.problem = blocks_.bytes().beneath().problem();
    if (!recording_.problem) recording_.problem = blocks_.problem();
    recording_.lost = 0;
    for (const PacketInterface& interface : blocks_.interfaces()) recording_.lost += interface.lost;
  }

  // False: the packet is no frame.
  bool take(const Packet& packet, can::Frame& frame) {
    ++recording_.lines;
    const std::optional<PacketLink> link = find_packet_link(blocks_.interfaces()[packet.interface].link_type);
    std::uint32_t interface_number = 0;
    const PacketKind kind = link ? read_can_packet(*link, packet.bytes, frame, interface_number) : PacketKind::kOther;
    if (kind == PacketKind::kOther) {
      ++recording_.skipped;
      return false;
    }
    if (kind == PacketKind::kDamaged) return damage("not a frame: a length or an identifier that no frame has");
    if (!packet.time_us) return damage("a time outside the years 0 to 9999");
    frame.line = recording_.lines;
    frame.channel = find_channel(packet.interface, *link, interface_number);
    take_time(frame, *packet.time_us);
    return true;
  }

  bool damage(const char* what) {
    ++recording_.damaged;
    if (recording_.first_damage.size() < kKeptDamage) recording_.first_damage.push_back({recording_.lines, 0, what});
    return false;
  }

  void take_time(can::Frame& frame, std::int64_t time_us) {
    frame.time_us = time_us;
    if (!timed_) {
      timed_ = true;
      recording_.format = blocks_.is_pcapng() ? "pcapng" : "pcap";
      recording_.time_base = time_us >= kEarliestDateUs ? TimeBase::kAbsolute : TimeBase::kRelative;
    } else if (time_us < last_time_us_) {
      ++recording_.backwards;
    }
    last_time_us_ = time_us;
  }

  std::uint8_t find_channel(std::size_t interface, PacketLink link, std::uint32_t interface_number) {
    const std::pair<std::size_t, std::uint32_t> key{interface,
                                                    link == PacketLink::kLinuxCooked2 ? interface_number : 0};
    if (key == last_key_ && timed_) return last_channel_;
    const auto [known, is_new] = numbers_.try_emplace(key, std::uint8_t{0});
    if (is_new) known->second = number_of_name(name_of(interface, link, interface_number));
    last_key_ = key;
    last_channel_ = known->second;
    return last_channel_;
  }
  [[nodiscard]] std::string name_of(std::size_t interface, PacketLink link, std::uint32_t interface_number) const {
    if (link == PacketLink::kLinuxCooked2) return "interface " + std::to_string(interface_number);
    const std::string& name = blocks_.interfaces()[interface].name;
    if (!name.empty()) return name;
    return blocks_.is_pcapng() ? "interface " + std::to_string(interface) : "bus";
  }
  std::uint8_t number_of_name(const std::string& name) {
    std::vector<std::string>& names = recording_.channels;
    auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end() && names.size() < kMostPacketChannels) found = names.insert(found, name);
    return static_cast<std::uint8_t>(found - names.begin());  // 255 stands for all those too many
  }

  PacketBlocks blocks_;
  base::Workers& workers_;
  Recording recording_, shown_;  // as filled so far, and as it stood before the batch that is being filled
  std::optional<double> fraction_, shown_fraction_;
  bool timed_ = false;
  std::int64_t last_time_us_ = 0;
  std::map<std::pair<std::size_t, std::uint32_t>, std::uint8_t> numbers_;
  std::pair<std::size_t, std::uint32_t> last_key_{};
  std::uint8_t last_channel_ = 0;
};

}  // namespace

bool is_packet_file(std::string_view beginning) {
  return std::any_of(kMagics.begin(), kMagics.end(),
                     [&](std::string_view magic) { return beginning.starts_with(magic); });
}

bool is_other_link(std::string_view beginning) {
  if (!is_packet_file(beginning) || beginning.starts_with(kMagics.back()) || beginning.size() < 24) return false;
  const bool big_endian = beginning[0] == '\xA1';
  const auto high = static_cast<unsigned char>(beginning[big_endian ? 22 : 21]);
  const auto low = static_cast<unsigned char>(beginning[big_endian ? 23 : 20]);
  return !find_packet_link(static_cast<std::uint32_t>(high << 8 | low));
}

std::unique_ptr<FrameSource> read_packet_file(std::unique_ptr<base::ByteSource> bytes, base::Workers& workers) {
  return std::make_unique<PacketFile>(std::move(bytes), workers);
}

}  // namespace halfsplit::capture
