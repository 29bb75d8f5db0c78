// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_file.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <utility>

#include "capture/can_packet.h"
#include "capture/packet_blocks.h"
#include "capture/packet_frames.h"
#include "capture/staged_source.h"

namespace halfsplit::capture {

namespace {

constexpr std::array<std::string_view, 5> kMagics = {std::string_view("\xA1\xB2\xC3\xD4", 4),
                                                     {"\xD4\xC3\xB2\xA1", 4},
                                                     {"\xA1\xB2\x3C\x4D", 4},
                                                     {"\x4D\x3C\xB2\xA1", 4},
                                                     {"\x0A\x0D\x0D\x0A", 4}};

class PacketReader {
 public:
  struct Piece : PacketFrames {
    PacketPiece packets_of;
  };

  explicit PacketReader(std::unique_ptr<base::ByteSource> bytes) : bytes_(std::move(bytes)) {}

  bool fetch(Piece& piece) { return blocks_.fetch(*bytes_, piece.packets_of); }
  void read(Piece& piece) const { read_packet_piece(piece.packets_of, blocks_.interfaces(), piece); }
  [[nodiscard]] bool look_at(Piece& piece, const FrameLook& look) const {
    return look_at_packet_piece(piece.packets_of, blocks_.interfaces(), piece, look);
  }
  void begin_settling(Piece& piece, Recording& recording) {
    recording.format = piece.packets_of.pcapng ? "pcapng" : "pcap";
    recording.bytes += piece.packets_of.bytes;
    order_.begin(piece, recording);
  }
  void settle(const Piece&, std::span<can::Frame> frames) const { order_.settle(frames); }
  static void let_go(Piece& piece, const Recording& recording) { PacketOrder::let_go(piece, recording); }
  [[nodiscard]] std::optional<std::uint64_t> only_lines() const { return order_.only_lines(); }
  void end(Recording& recording) const {
    recording.format = blocks_.is_pcapng() ? "pcapng" : "pcap";
    recording.truncated = blocks_.truncated() || blocks_.problem().has_value();
    recording.problem = bytes_->problem();
    if (!recording.problem) recording.problem = blocks_.problem();
    recording.lost = blocks_.lost();
  }
  [[nodiscard]] double fraction() const {
    const std::optional<std::uint64_t> size = bytes_->size();
    if (!size || *size == 0) return -1.0;
    return std::min(1.0, static_cast<double>(bytes_->taken()) / static_cast<double>(*size));
  }

 private:
  std::unique_ptr<base::ByteSource> bytes_;
  PacketBlocks blocks_;
  PacketOrder order_;
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
  return std::make_unique<StagedSource<PacketReader>>(PacketReader(std::move(bytes)), workers);
}

}  // namespace halfsplit::capture
