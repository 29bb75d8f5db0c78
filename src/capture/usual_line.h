// SPDX-License-Identifier: Apache-2.0
// The line that nearly every log is full of:
//
//   (1600000000.123456) can0 18FEF100#0011223344556677
//
// ten digits, six digits, the interface of the line ahead, eight and sixteen hexadecimal digits, a line end. Whatever
// differs from that by one character is left to read_candump_line(), which is the twin of this in the tests. Eight or
// sixteen characters are looked at at once; the seconds are mostly those of the line ahead, and identifiers come again
// and again, so both are remembered as they are spelled.
#pragma once

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string_view>

#ifdef __SSE2__
#include <emmintrin.h>
#endif

#include "can/frame.h"

namespace halfsplit::capture {

// Eight characters as one number; the first is the lowest byte.
[[nodiscard]] inline std::uint64_t eight_at(const char* at) {
  std::uint64_t word = 0;
  std::memcpy(&word, at, sizeof word);
  return word;
}

// Sixteen hexadecimal digits; false: one of them is none.
[[nodiscard]] inline bool read_sixteen_hex(const char* at, std::array<std::uint8_t, 8>& bytes) {
  using Sixteen = std::uint8_t __attribute__((vector_size(16)));
  using Pairs = std::uint16_t __attribute__((vector_size(16)));
  using Halves = std::uint64_t __attribute__((vector_size(16)));
  Sixteen text{};
  std::memcpy(&text, at, sizeof text);
  const Sixteen digit = text - std::uint8_t{'0'};
  const Sixteen letter = (text | std::uint8_t{0x20}) - std::uint8_t{'a'};
  const auto is_digit = std::bit_cast<Sixteen>(digit <= std::uint8_t{9});
  const auto is_letter = std::bit_cast<Sixteen>(letter <= std::uint8_t{5});
  const auto known = std::bit_cast<Halves>(is_digit | is_letter);
  const auto nibbles = std::bit_cast<Pairs>((digit & is_digit) | ((letter + std::uint8_t{10}) & is_letter));
  const auto pairs = ((nibbles << 4) | (nibbles >> 8)) & std::uint16_t{0xFF};
#ifdef __SSE2__
  const auto packed = _mm_packus_epi16(std::bit_cast<__m128i>(pairs), std::bit_cast<__m128i>(pairs));
  bytes = std::bit_cast<std::array<std::array<std::uint8_t, 8>, 2>>(packed)[0];
#else
  for (std::size_t i = 0; i < bytes.size(); ++i) bytes[i] = static_cast<std::uint8_t>(pairs[i]);
#endif
  return (known[0] & known[1]) == ~std::uint64_t{0};
}

class UsualLine {
 public:
  static constexpr std::ptrdiff_t kLongest = 20 + 8 + 26;  // looked at

  // The interface to expect from here on; one of more than seven characters is never the usual.
  void expect(std::string_view name, std::uint8_t channel) {
    length_ = name.size() <= kMostName && std::endian::native == std::endian::little ? name.size() : 0;
    channel_ = channel;
    char padded[8] = {' ', ' ', ' ', ' ', ' ', ' ', ' ', ' '};
    std::memcpy(padded, name.data(), length_);
    mask_ = length_ == kMostName ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * (length_ + 1))) - 1;
    name_ = eight_at(padded) & mask_;
  }
  void expect_none() { length_ = 0; }
  [[nodiscard]] bool expects() const { return length_ > 0; }

  // Fills all but the line and returns the start of the next line; null: not the usual line. Only when a name is
  // expected. Looks at kLongest characters.
  [[nodiscard]] const char* read(const char* at, can::Frame& frame) {
    const std::uint64_t front = eight_at(at), back = eight_at(at + 4);
    if ((front ^ front_) | (back ^ back_)) [[unlikely]] {
      if (!learn_seconds(at)) return nullptr;
    }
    // The six digits of the fraction, and what stands behind them, as 0 to 9 and two zeroes.
    const std::uint64_t fraction = eight_at(at + 12) ^ 0x2029303030303030;
    const std::uint64_t too_large = ((fraction + 0x7F7F767676767676) | fraction) & kTops;
    const char* name = at + 20;
    const char* id = name + length_ + 1;
    const std::uint64_t spelled = eight_at(id);
    const Spelled& known = known_[place(spelled)];
    std::uint32_t value = known.value;
    if (known.text != spelled) [[unlikely]] {
      if (!learn_identifier(spelled, value)) return nullptr;
    }
    std::array<std::uint8_t, 8> data{};
    const bool hex = read_sixteen_hex(id + 9, data);
    const bool marks = id[8] == '#' && id[25] == '\n' && (((eight_at(name) & mask_) ^ name_) | too_large) == 0;
    if (!hex || !marks) return nullptr;
    frame.time_us = seconds_us_ + decimal(fraction << 16);
    frame.id = value;
    frame.kind = can::FrameKind::kData;
    frame.extended = true;
    frame.flexible = false;
    frame.channel = channel_;
    frame.length = 8;
    std::memcpy(frame.data.data(), data.data(), sizeof data);
    return id + 26;
  }

 private:
  static constexpr std::size_t kMostName = 7, kKnown = 1024;
  static constexpr std::uint64_t kTops = 0x8080808080808080;

  // An identifier as it is spelled. The empty text is spelled by nobody: eight zero characters are no digits.
  struct Spelled {
    std::uint64_t text = 0;
    std::uint32_t value = 0;
  };

  static std::size_t place(std::uint64_t text) { return (text * 0x9E3779B97F4A7C15) >> 54; }
  static bool digit(char c) { return static_cast<unsigned char>(c - '0') < 10; }

  // Of digits, 0 to 9 each: neighbours joined to pairs, those to fours, those to one number.
  static std::uint32_t decimal(std::uint64_t digits) {
    const std::uint64_t pairs = (digits * 10 + (digits >> 8)) & 0x00FF00FF00FF00FF;
    const std::uint64_t fours = (pairs * 100 + (pairs >> 16)) & 0x0000FFFF0000FFFF;
    return static_cast<std::uint32_t>(fours * 10'000 + (fours >> 32));
  }

  bool learn_seconds(const char* at) {
    if (at[0] != '(' || at[11] != '.') return false;
    std::int64_t seconds = 0;
    for (const char* d = at + 1; d < at + 11; ++d) {
      if (!digit(*d)) return false;
      seconds = seconds * 10 + (*d - '0');
    }
    front_ = eight_at(at);
    back_ = eight_at(at + 4);
    seconds_us_ = seconds * 1'000'000;
    return true;
  }

  bool learn_identifier(std::uint64_t spelled, std::uint32_t& value) {
    char text[16];
    std::memcpy(text, &spelled, 8);
    std::memcpy(text + 8, &spelled, 8);
    std::array<std::uint8_t, 8> bytes{};
    if (!read_sixteen_hex(text, bytes)) return false;
    value = std::uint32_t{bytes[0]} << 24 | std::uint32_t{bytes[1]} << 16 | std::uint32_t{bytes[2]} << 8 | bytes[3];
    if (value > can::kLargestExtendedId) return false;
    known_[place(spelled)] = {spelled, value};
    return true;
  }

  std::uint64_t front_ = 0, back_ = 0;  // the first twelve characters of the line ahead
  std::int64_t seconds_us_ = 0;
  std::size_t length_ = 0;  // of the interface; 0: none is expected
  std::uint64_t name_ = 0, mask_ = 0;
  std::uint8_t channel_ = 0;
  std::array<Spelled, kKnown> known_;
};

}  // namespace halfsplit::capture
