// SPDX-License-Identifier: Apache-2.0
// Sources: RFC 2781 (UTF-16), RFC 3629 (UTF-8); Windows-1252 from memory.
#include "text/encodings.h"

#include <array>
#include <cstdint>

#include "text/utf8.h"

namespace halfsplit::text {

namespace {

constexpr std::uint32_t kUnknown = 0xFFFD;

void put(std::string& text, std::uint32_t c) {
  const auto tail = [&](unsigned shift) { text += static_cast<char>(0x80U | ((c >> shift) & 0x3FU)); };
  switch (utf8_length(c)) {
    case 1:
      text += static_cast<char>(c);
      return;
    case 2:
      text += static_cast<char>(0xC0U | (c >> 6U));
      return tail(0);
    case 3:
      text += static_cast<char>(0xE0U | (c >> 12U));
      tail(6);
      return tail(0);
    default:
      text += static_cast<char>(0xF0U | (c >> 18U));
      tail(12);
      tail(6);
      tail(0);
  }
}

std::uint32_t octet(std::string_view bytes, std::size_t at) { return static_cast<unsigned char>(bytes[at]); }

std::string from_utf16(std::string_view bytes, bool big_end_first) {
  const auto unit = [&](std::size_t at) {
    return big_end_first ? octet(bytes, at) << 8U | octet(bytes, at + 1)
                         : octet(bytes, at + 1) << 8U | octet(bytes, at);
  };
  std::string text;
  for (std::size_t at = 0; at + 1 < bytes.size(); at += 2) {
    std::uint32_t c = unit(at);
    const bool first = c >= 0xD800 && c < 0xDC00, second = c >= 0xDC00 && c < 0xE000;
    if (first && at + 3 < bytes.size() && unit(at + 2) >= 0xDC00 && unit(at + 2) < 0xE000) {
      c = 0x10000 + ((c - 0xD800) << 10U) + (unit(at + 2) - 0xDC00);
      at += 2;
    } else if (first || second) {
      c = kUnknown;
    }
    put(text, c);
  }
  return text;
}

std::string from_windows_1252(std::string_view bytes) {
  constexpr std::array<std::uint32_t, 32> kUpper{0x20AC,   kUnknown, 0x201A, 0x0192, 0x201E, 0x2026,   0x2020, 0x2021,
                                                 0x02C6,   0x2030,   0x0160, 0x2039, 0x0152, kUnknown, 0x017D, kUnknown,
                                                 kUnknown, 0x2018,   0x2019, 0x201C, 0x201D, 0x2022,   0x2013, 0x2014,
                                                 0x02DC,   0x2122,   0x0161, 0x203A, 0x0153, kUnknown, 0x017E, 0x0178};
  std::string text;
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    const std::uint32_t c = octet(bytes, at);
    put(text, c >= 0x80 && c < 0xA0 ? kUpper.at(c - 0x80) : c);
  }
  return text;
}

// Two letters, figures or signs in a row, each with a zero byte beside it.
bool has_zeros_at(std::string_view bytes, std::size_t odd) {
  return bytes.size() >= 4 && bytes[odd] == 0 && bytes[2 + odd] == 0 && bytes[1 - odd] != 0 && bytes[3 - odd] != 0;
}

bool has_wide_characters(std::string_view bytes) {
  for (std::size_t at = 0; at < bytes.size(); at += character_bytes(bytes, at))
    if (character_bytes(bytes, at) > 1) return true;
  return false;
}

}  // namespace

Decoded decode_text(std::string_view bytes) {
  if (bytes.starts_with("\xFF\xFE")) return {from_utf16(bytes.substr(2), false), "UTF-16"};
  if (bytes.starts_with("\xFE\xFF")) return {from_utf16(bytes.substr(2), true), "UTF-16"};
  if (has_zeros_at(bytes, 1)) return {from_utf16(bytes, false), "UTF-16"};
  if (has_zeros_at(bytes, 0)) return {from_utf16(bytes, true), "UTF-16"};
  if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
  if (!find_invalid_utf8(bytes) || has_wide_characters(bytes)) return {std::string(bytes), ""};
  return {from_windows_1252(bytes), "Windows-1252"};
}

}  // namespace halfsplit::text
