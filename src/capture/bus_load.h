// SPDX-License-Identifier: Apache-2.0
// Bits that frames take on the wire. From ISO 11898-1: a data frame of the classic kind has 47 bits (base identifier)
// or 67 (extended) beside its data, the three bits of pause behind it included; of these 34 or 54 and the data may be
// stuffed, after each four at worst one. A remote frame has no data. CAN FD frames are counted as if their data went at
// the bit rate of the identifier, with the longer checksum: more than they take.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <span>

#include "can/frame.h"
#include "capture/findings.h"

namespace halfsplit::capture {

struct FrameBits {
  std::uint32_t least = 0, most = 0;  // no stuff bits; as many as there can be
};

[[nodiscard]] constexpr FrameBits frame_bits(const can::Frame& frame) {
  const std::uint32_t data = frame.kind == can::FrameKind::kRemote ? 0U : 8U * frame.length;
  const std::uint32_t checksum = !frame.flexible ? 0U : frame.length > 16 ? 11U : 7U;
  const std::uint32_t bits = (frame.extended ? 67U : 47U) + data + checksum;
  const std::uint32_t stuffed = (frame.extended ? 54U : 34U) + data + checksum;
  return {bits, bits + (stuffed - 1) / 4};
}

// Of classic data frames, by kind of identifier and length.
inline constexpr auto kClassicBits = [] {
  std::array<std::array<FrameBits, 9>, 2> bits{};
  for (const bool extended : {false, true})
    for (std::uint8_t length = 0; length <= 8; ++length) {
      can::Frame frame{};
      frame.extended = extended;
      frame.length = length;
      bits[extended ? 1 : 0][length] = frame_bits(frame);
    }
  return bits;
}();

// A data frame that is not of CAN FD, as nearly all are.
[[nodiscard]] inline bool is_classic(const can::Frame& frame) {
  return frame.kind == can::FrameKind::kData && !frame.flexible && frame.length <= 8;
}
[[nodiscard]] inline FrameBits classic_bits(const can::Frame& frame) {
  return kClassicBits[frame.extended ? 1 : 0][frame.length];
}

// Bits of one channel in a piece of a recording: up to and with the frame of this number in the piece.
struct BitsUpTo {
  std::uint32_t frame = 0;
  std::uint32_t least = 0, most = 0;
};

// Load of one channel. The busiest tenth of a second is looked for in tenths counted from its first frame.
class BusLoad {
 public:
  // Piece by piece, with the marks of all frames of the piece and the lines ahead of it.
  void add(std::span<const BitsUpTo> bits, std::span<const Mark> marks, std::uint64_t lines_ahead) {
    const std::uint64_t least = load_.bits_least, most = load_.bits_most;
    for (std::size_t b = first_at(bits, marks, 0); b < bits.size(); b = first_at(bits, marks, b + 1)) {
      load_.bits_least = least + (b == 0 ? 0 : bits[b - 1].least);
      load_.bits_most = most + (b == 0 ? 0 : bits[b - 1].most);
      const Mark& mark = marks[bits[b].frame];
      next_tenth({mark.at_us, mark.line + lines_ahead});
    }
    if (bits.empty()) return;
    load_.frames += bits.size();
    load_.bits_least = least + bits.back().least;
    load_.bits_most = most + bits.back().most;
  }
  void pair();
  LoadSlot& slot(std::size_t s) {
    if (s >= load_.slots.size()) load_.slots.resize(s + 1);
    return load_.slots[s];
  }
  // `bit_rate` in bit/s; 0: guessed from the busiest tenth.
  [[nodiscard]] ChannelLoad load(double bit_rate) const;

 private:
  static constexpr std::int64_t kTenthUs = 100'000;
  // The first one from there on that lies behind the tenth under way. It is not far.
  [[nodiscard]] std::size_t first_at(std::span<const BitsUpTo> bits, std::span<const Mark> marks,
                                     std::size_t from) const {
    const std::int64_t end_us = tenth_.at_us + kTenthUs;
    const auto is_before = [&](const BitsUpTo& one) { return marks[one.frame].at_us < end_us; };
    std::size_t to = from;
    for (std::size_t step = 8; to < bits.size() && is_before(bits[to]); step *= 2) {
      from = to + 1;
      to += step;
    }
    const auto begin = bits.begin() + static_cast<std::ptrdiff_t>(from);
    const auto end = bits.begin() + static_cast<std::ptrdiff_t>(std::min(to, bits.size()));
    return static_cast<std::size_t>(std::partition_point(begin, end, is_before) - bits.begin());
  }
  void next_tenth(const Mark& mark);
  void see_peak(ChannelLoad& load, std::uint64_t& most_least) const;

  ChannelLoad load_;
  Mark tenth_{-2 * kTenthUs, 0};
  std::uint64_t least_at_tenth_ = 0, most_at_tenth_ = 0;  // the sums when it began
  std::uint64_t peak_least_ = 0;
};

}  // namespace halfsplit::capture
