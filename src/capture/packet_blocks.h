// SPDX-License-Identifier: Apache-2.0
// The structure of a packet file, whatever the link: pcap and pcapng, either byte order, several sections. Walks from
// block to block, sees that they are sound, and cuts the file into pieces of whole ones, which any hand can read into
// frames (packet_frames.h).
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/diagnostic.h"
#include "base/seams.h"
#include "capture/packet_time.h"

namespace halfsplit::capture {

struct PacketInterface {
  std::uint32_t link_type = 0;
  std::uint32_t longest = 0;  // packets are cut to that many bytes; 0: never
  std::string name;           // empty: the file tells none
  PacketClock clock;
};

// Those of all sections, one behind the other; of pcap one. What was once there stays where it is, so that others may
// read it while more are added.
class PacketInterfaces {
 public:
  static constexpr std::size_t kMost = 100'000;

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] const PacketInterface& operator[](std::size_t i) const { return pages_[i / kPage][i % kPage]; }
  // At most kMost + 1.
  void add(PacketInterface interface) {
    std::unique_ptr<PacketInterface[]>& page = pages_[size_ / kPage];
    if (page == nullptr) page = std::make_unique<PacketInterface[]>(kPage);
    page[size_++ % kPage] = std::move(interface);
  }

 private:
  static constexpr std::size_t kPage = 512;
  std::array<std::unique_ptr<PacketInterface[]>, kMost / kPage + 1> pages_;
  std::size_t size_ = 0;
};

// From where on which interfaces and byte order hold.
struct PacketSection {
  std::size_t first_interface = 0;
  bool big_endian = false;
};

struct PacketPiece {
  std::vector<std::uint8_t> room;
  std::span<const std::uint8_t> blocks;  // of pcap records; each sound, its packet within it and of a known interface
  bool pcapng = false;
  std::vector<PacketSection> sections;  // that of its beginning, then one for each section block in it
  std::size_t bytes = 0;                // of the file, a head included
};

enum class PacketBlock : std::uint32_t {
  kInterface = 1,
  kObsoletePacket = 2,
  kSimplePacket = 3,
  kStatistics = 5,
  kEnhancedPacket = 6,
  kSection = 0x0A0D0D0A,
};

// Four bytes as a number.
[[nodiscard, gnu::always_inline]] inline std::uint32_t packet_number(const std::uint8_t* at, bool big_endian) {
  return big_endian ? std::uint32_t{at[0]} << 24 | std::uint32_t{at[1]} << 16 | std::uint32_t{at[2]} << 8 | at[3]
                    : std::uint32_t{at[3]} << 24 | std::uint32_t{at[2]} << 16 | std::uint32_t{at[1]} << 8 | at[0];
}
[[nodiscard]] inline std::uint32_t packet_short(const std::uint8_t* at, bool big_endian) {
  return big_endian ? std::uint32_t{at[0]} << 8 | at[1] : std::uint32_t{at[1]} << 8 | at[0];
}

constexpr std::size_t kPcapRecordHead = 16;  // seconds, fraction, bytes kept, bytes there were

class PacketBlocks {
 public:
  // The next piece; false: no more, see truncated() and problem().
  [[nodiscard]] bool fetch(base::ByteSource& bytes, PacketPiece& piece);

  [[nodiscard]] const PacketInterfaces& interfaces() const { return *interfaces_; }
  [[nodiscard]] std::uint64_t lost() const;  // by the tap, as it says itself
  [[nodiscard]] bool is_pcapng() const { return pcapng_; }
  [[nodiscard]] bool truncated() const { return truncated_; }
  [[nodiscard]] const std::optional<base::Diagnostic>& problem() const { return problem_; }

 private:
  using Bytes = std::span<const std::uint8_t>;

  [[nodiscard]] std::size_t begin(Bytes head);
  void fill(base::ByteSource& bytes, std::vector<std::uint8_t>& room, std::size_t& used, std::size_t wanted);
  [[nodiscard]] std::size_t walk(Bytes rest, PacketPiece& piece);
  [[nodiscard]] std::size_t length_of_record(Bytes rest);
  [[nodiscard]] std::size_t length_of_block(Bytes rest);
  [[nodiscard]] std::size_t length_of_usual_blocks(Bytes rest) const;
  bool see_block(std::uint32_t type, Bytes body, PacketPiece& piece);
  bool read_section(Bytes body, PacketPiece& piece);
  bool read_interface(Bytes body);
  void read_statistics(Bytes body);
  template <class Take>
  void read_options(Bytes options, Take take) const;
  bool see_packet(std::size_t number_in_section, std::size_t length, std::size_t room);
  bool stop_truncated();
  bool stop_broken(const char* what);

  [[nodiscard]] std::uint32_t four(const std::uint8_t* at) const { return packet_number(at, big_endian_); }
  [[nodiscard]] std::uint32_t two(const std::uint8_t* at) const { return packet_short(at, big_endian_); }

  std::unique_ptr<PacketInterfaces> interfaces_ = std::make_unique<PacketInterfaces>();
  std::vector<std::uint64_t> lost_;  // by interface
  std::vector<std::uint8_t> ahead_;  // the beginning of the next piece
  std::uint64_t passed_ = 0;         // bytes of the file that lie before what is looked at
  std::size_t section_ = 0;          // first interface of the section under way
  std::size_t wanted_ = 0;           // bytes that the block looked at needs to be seen whole
  bool begun_ = false, pcapng_ = false, big_endian_ = false;
  bool source_over_ = false, over_ = false, truncated_ = false;
  std::optional<base::Diagnostic> problem_;
};

}  // namespace halfsplit::capture
