// SPDX-License-Identifier: Apache-2.0
// The line that nearly every log is full of, eight characters at a time:
//
//   (1600000000.123456) can0 18FEF100#0011223344556677
//
// ten digits, six digits, the interface of the line ahead, eight and sixteen hexadecimal digits, a line end. Whatever
// differs from that by one character is left to read_candump_line(), which is the twin of this in the tests.
#pragma once

#include <bit>
#include <cstdint>
#include <cstring>
#include <string_view>

#include "can/frame.h"

namespace halfsplit::capture {

// Eight characters as one number; the first is the lowest byte.
class EightCharacters {
 public:
  explicit EightCharacters(const char* at) { std::memcpy(&word_, at, sizeof word_); }

  [[nodiscard]] bool are_digits() const { return below('0', '9') == kAll; }
  [[nodiscard]] bool are_hex() const {
    return (below('0', '9') | EightCharacters(word_ | 0x2020202020202020).below('a', 'f')) == kAll;
  }
  // Of digits: neighbours joined to pairs, those to fours, those to one number.
  [[nodiscard]] std::uint32_t decimal() const {
    const std::uint64_t digits = word_ - 0x3030303030303030;
    const std::uint64_t pairs = (digits * 10 + (digits >> 8)) & 0x00FF00FF00FF00FF;
    const std::uint64_t fours = (pairs * 100 + (pairs >> 16)) & 0x0000FFFF0000FFFF;
    return static_cast<std::uint32_t>(fours * 10'000 + (fours >> 32));
  }
  // Of hexadecimal digits: the four bytes they spell, the first in the lowest place.
  [[nodiscard]] std::uint32_t bytes() const {
    const std::uint64_t letters = (word_ >> 6) & 0x0101010101010101;
    const std::uint64_t nibbles = (word_ & 0x0F0F0F0F0F0F0F0F) + letters * 9;
    const std::uint64_t pairs = ((nibbles << 4) | (nibbles >> 8)) & 0x00FF00FF00FF00FF;
    const std::uint64_t fours = (pairs | (pairs >> 8)) & 0x0000FFFF0000FFFF;
    return static_cast<std::uint32_t>(fours | (fours >> 16));
  }
  [[nodiscard]] std::uint64_t word() const { return word_; }

 private:
  static constexpr std::uint64_t kOnes = 0x0101010101010101, kAll = 0x8080808080808080;
  explicit EightCharacters(std::uint64_t word) : word_(word) {}

  // The top bit of each character that lies between two others, these included. Characters of 0x80 and more never do.
  [[nodiscard]] std::uint64_t below(char first, char last) const {
    const std::uint64_t low = word_ & ~kAll;
    const std::uint64_t from = low + kOnes * static_cast<std::uint64_t>(0x80 - first);
    const std::uint64_t past = low + kOnes * static_cast<std::uint64_t>(0x7F - last);
    return from & ~past & ~word_ & kAll;
  }

  std::uint64_t word_;
};

class UsualLine {
 public:
  // The interface to expect from here on; one of more than seven characters is never the usual.
  void expect(std::string_view channel) {
    length_ = channel.size() <= kMostName && std::endian::native == std::endian::little ? channel.size() : 0;
    if (length_ == 0) return;
    char name[8] = {' ', ' ', ' ', ' ', ' ', ' ', ' ', ' '};
    std::memcpy(name, channel.data(), length_);
    mask_ = length_ == 7 ? ~std::uint64_t{0} : (std::uint64_t{1} << (8 * (length_ + 1))) - 1;
    name_ = EightCharacters(name).word() & mask_;
  }

  // Fills time, identifier and bytes and returns the start of the next line; null: not the usual line.
  [[nodiscard]] const char* read(const char* at, const char* end, can::Frame& frame) const {
    if (length_ == 0 || end - at < kLongest) return nullptr;
    const EightCharacters seconds(at + 1), fraction(at + 12);
    const char* name = at + 20;
    const char* id = name + length_ + 1;
    const EightCharacters identifier(id), front(id + 9), back(id + 17);
    const bool marks = at[0] == '(' && at[11] == '.' && at[18] == ')' && at[19] == ' ' && id[8] == '#' &&
                       id[25] == '\n' && (EightCharacters(name).word() & mask_) == name_;
    if (!marks || !seconds.are_digits() || !digit(at[9]) || !digit(at[10]) || !six_digits(fraction)) return nullptr;
    if (!identifier.are_hex() || !front.are_hex() || !back.are_hex()) return nullptr;
    const std::uint32_t value = swap_bytes(identifier.bytes());
    if (value > can::kLargestExtendedId) return nullptr;
    const std::int64_t whole = std::int64_t{seconds.decimal()} * 100 + (at[9] - '0') * 10 + (at[10] - '0');
    frame.time_us = whole * 1'000'000 + six(fraction);
    frame.id = value;
    frame.kind = can::FrameKind::kData;
    frame.extended = true;
    frame.flexible = false;
    frame.length = 8;
    const std::uint64_t data = front.bytes() | std::uint64_t{back.bytes()} << 32;
    std::memcpy(frame.data.data(), &data, sizeof data);
    return id + 26;
  }

 private:
  static constexpr std::size_t kMostName = 7;
  static constexpr std::ptrdiff_t kLongest = 20 + 8 + 26;

  static bool digit(char c) { return static_cast<unsigned char>(c - '0') < 10; }
  // ") " behind the six digits, known to be there, become two zeroes.
  static EightCharacters filled(const EightCharacters& six) {
    const std::uint64_t word = (six.word() & 0x0000FFFFFFFFFFFF) | 0x3030000000000000;
    return EightCharacters(reinterpret_cast<const char*>(&word));
  }
  static bool six_digits(const EightCharacters& six) { return filled(six).are_digits(); }
  static std::uint32_t six(const EightCharacters& six) { return filled(six).decimal() / 100; }
  static std::uint32_t swap_bytes(std::uint32_t word) {
    return word >> 24 | (word >> 8 & 0xFF00) | (word << 8 & 0xFF0000) | word << 24;
  }

  std::size_t length_ = 0;  // of the interface; 0: none is expected
  std::uint64_t name_ = 0, mask_ = 0;
};

}  // namespace halfsplit::capture
