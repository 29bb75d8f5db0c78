// SPDX-License-Identifier: Apache-2.0
// The structure of a packet file: one packet after the other, with its interface and time, whatever the link. Knows
// pcap and pcapng, either byte order, several sections.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capture/buffered_bytes.h"
#include "capture/packet_time.h"

namespace halfsplit::capture {

struct PacketInterface {
  std::uint32_t link_type = 0;
  std::uint32_t longest = 0;  // packets are cut to that many bytes; 0: never
  std::string name;           // empty: the file tells none
  PacketClock clock;
  std::uint64_t lost = 0;  // packets the tap lost there
};

struct Packet {
  std::size_t interface = 0;  // index into interfaces(); of pcap always 0
  std::optional<std::int64_t> time_us;
  std::span<const std::uint8_t> bytes;
};

class PacketBlocks {
 public:
  explicit PacketBlocks(std::unique_ptr<base::ByteSource> bytes) : bytes_(std::move(bytes)) {}

  // The next packet, whose bytes are valid until the next call; false: no more, see truncated() and problem().
  [[nodiscard]] bool next(Packet& packet);

  [[nodiscard]] const std::vector<PacketInterface>& interfaces() const { return interfaces_; }  // of all sections
  [[nodiscard]] bool is_pcapng() const { return pcapng_; }
  [[nodiscard]] bool truncated() const { return truncated_; }
  [[nodiscard]] const std::optional<base::Diagnostic>& problem() const { return problem_; }
  [[nodiscard]] const BufferedBytes& bytes() const { return bytes_; }

 private:
  bool begin();
  bool begin_pcap(std::span<const std::uint8_t> head);
  bool next_of_pcap(Packet& packet);
  bool next_of_pcapng(Packet& packet);
  bool next_block(std::uint32_t& type, std::span<const std::uint8_t>& body);
  bool section_length(std::span<const std::uint8_t> head, std::size_t& length);
  bool read_section(std::span<const std::uint8_t> body);
  void read_interface(std::span<const std::uint8_t> body);
  void read_statistics(std::span<const std::uint8_t> body);
  template <class Take>
  void read_options(std::span<const std::uint8_t> options, Take take) const;
  bool read_enhanced(std::span<const std::uint8_t> body, Packet& packet);
  bool read_obsolete(std::span<const std::uint8_t> body, Packet& packet);
  bool read_simple(std::span<const std::uint8_t> body, Packet& packet);
  bool take_packet(std::size_t number, std::uint64_t ticks, std::span<const std::uint8_t> rest, std::size_t length,
                   Packet& packet);
  bool stop_truncated();
  bool stop_broken(const char* what);

  [[nodiscard]] std::uint32_t number(const std::uint8_t* at, int bytes) const;

  BufferedBytes bytes_;
  std::vector<PacketInterface> interfaces_;
  std::size_t section_ = 0;  // first interface of the section under way
  std::size_t shown_ = 0;    // bytes of the block under way, passed at the next call
  bool begun_ = false, over_ = false, pcapng_ = false, big_endian_ = false, truncated_ = false;
  std::optional<base::Diagnostic> problem_;
};

}  // namespace halfsplit::capture
