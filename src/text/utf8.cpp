// SPDX-License-Identifier: Apache-2.0
// A character is a lead byte and its continuation bytes 10xxxxxx; the second byte's range shuts out overlong forms,
// surrogates and what lies above U+10FFFF. Source: RFC 3629, section 4 (UTF8-octets grammar).
#include "text/utf8.h"

namespace halfsplit::text {

namespace {

unsigned byte_at(std::string_view text, std::size_t at) { return static_cast<unsigned char>(text[at]); }

bool is_continuation(unsigned byte) { return (byte & 0xC0U) == 0x80U; }

// Bytes announced by a lead byte; 0 for a byte that cannot lead.
std::size_t announced(unsigned lead) {
  if (lead < 0x80U) return 1;
  if (lead >= 0xC2U && lead <= 0xDFU) return 2;
  if (lead >= 0xE0U && lead <= 0xEFU) return 3;
  if (lead >= 0xF0U && lead <= 0xF4U) return 4;
  return 0;
}

bool second_fits(unsigned lead, unsigned second) {
  if (lead == 0xE0U) return second >= 0xA0U && second <= 0xBFU;
  if (lead == 0xEDU) return second >= 0x80U && second <= 0x9FU;
  if (lead == 0xF0U) return second >= 0x90U && second <= 0xBFU;
  if (lead == 0xF4U) return second >= 0x80U && second <= 0x8FU;
  return is_continuation(second);
}

// Length of the valid character at `at`, 0 when there is none.
std::size_t valid_length(std::string_view text, std::size_t at) {
  const std::size_t length = announced(byte_at(text, at));
  if (length <= 1) return length;
  if (at + length > text.size() || !second_fits(byte_at(text, at), byte_at(text, at + 1))) return 0;
  for (std::size_t i = 2; i < length; ++i)
    if (!is_continuation(byte_at(text, at + i))) return 0;
  return length;
}

}  // namespace

std::optional<std::size_t> find_invalid_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = valid_length(text, at);
    if (length == 0) return at;
    at += length;
  }
  return std::nullopt;
}

std::size_t character_bytes(std::string_view text, std::size_t at) {
  const std::size_t length = valid_length(text, at);
  return length == 0 ? 1 : length;
}

std::size_t count_characters(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size(); at += character_bytes(text, at)) ++count;
  return count;
}

std::size_t utf8_length(std::uint32_t code_point) {
  if (code_point < 0x80U) return 1;
  if (code_point < 0x800U) return 2;
  return code_point < 0x10000U || code_point > 0x10FFFFU ? 3 : 4;
}

std::string shorten(std::string_view text, std::size_t characters) {
  std::size_t at = 0;
  for (std::size_t count = 0; count < characters && at < text.size(); ++count) at += character_bytes(text, at);
  return std::string(text.substr(0, at)) + (at < text.size() ? "..." : "");
}

}  // namespace halfsplit::text
