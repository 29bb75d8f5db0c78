// SPDX-License-Identifier: Apache-2.0
// Two bytes as a code: bits 15 and 14 the letter (P, C, B, U), bits 13 and 12 the first digit, then three hexadecimal
// digits (ISO 15031-6, SAE J2012); a third byte is the failure type (SAE J2012-DA, tests/data/facts/
// dtc_failure_type_byte.csv). Status bits: ISO 14229-1, annex D (tests/data/facts/iso14229_status_bits.csv).
#include <algorithm>
#include <iterator>

#include "can/uds_codes.h"

namespace halfsplit::can {

namespace {

constexpr std::string_view kLetters = "PCBU";
constexpr std::string_view kHexDigits = "0123456789ABCDEF";

constexpr StatusBit kStatusBits[] = {
    {0, "testFailed", "last test result was a fail"},
    {1, "testFailedThisOperationCycle", "failed at least once in this operation cycle"},
    {2, "pendingDTC", "failed in this or the last cycle, not yet confirmed or healed"},
    {3, "confirmedDTC", "failed often enough to be stored"},
    {4, "testNotCompletedSinceLastClear", "no result yet since the last clear"},
    {5, "testFailedSinceLastClear", "failed at least once since the last clear"},
    {6, "testNotCompletedThisOperationCycle", "no result yet in this operation cycle"},
    {7, "warningIndicatorRequested", "the fault asks for a warning lamp"},
};

struct FailureType {
  std::uint8_t value;
  std::string_view word;
};
constexpr FailureType kFailureTypes[] = {
    {0x00, "no detail"},
    {0x01, "general electrical failure"},
    {0x02, "general signal failure"},
    {0x04, "internal failure"},
    {0x07, "mechanical failure"},
    {0x08, "bus message failure"},
    {0x09, "component failure"},
    {0x11, "short to ground"},
    {0x12, "short to battery"},
    {0x13, "open"},
    {0x14, "short to ground or open"},
    {0x15, "short to battery or open"},
    {0x16, "voltage too low"},
    {0x17, "voltage too high"},
    {0x18, "current too low"},
    {0x19, "current too high"},
    {0x1A, "resistance too low"},
    {0x1B, "resistance too high"},
    {0x1C, "voltage out of range"},
    {0x1D, "current out of range"},
    {0x1E, "resistance out of range"},
    {0x1F, "intermittent"},
    {0x21, "amplitude too small"},
    {0x22, "amplitude too large"},
    {0x23, "stuck low"},
    {0x24, "stuck high"},
    {0x26, "changes too slowly"},
    {0x27, "changes too fast"},
    {0x29, "signal invalid"},
    {0x2F, "erratic"},
    {0x31, "no signal"},
    {0x36, "frequency too low"},
    {0x37, "frequency too high"},
    {0x38, "frequency wrong"},
    {0x4B, "too hot"},
    {0x62, "signals disagree"},
    {0x64, "implausible"},
};

// None: no hexadecimal digit.
std::optional<std::uint8_t> hex_value(char digit) {
  const char upper = digit >= 'a' && digit <= 'f' ? static_cast<char>(digit - 'a' + 'A') : digit;
  const std::size_t at = kHexDigits.find(upper);
  return at == std::string_view::npos ? std::nullopt : std::optional<std::uint8_t>(static_cast<std::uint8_t>(at));
}

}  // namespace

std::string code_text(std::uint16_t code) {
  std::string text(1, kLetters[code >> 14]);
  text += static_cast<char>('0' + (code >> 12 & 3));
  for (const unsigned shift : {8U, 4U, 0U}) text += kHexDigits[code >> shift & 0xF];
  return text;
}

std::optional<std::uint16_t> read_code_text(std::string_view text) {
  if (text.size() != 5) return std::nullopt;
  const char letter = text[0] >= 'a' && text[0] <= 'z' ? static_cast<char>(text[0] - 'a' + 'A') : text[0];
  const std::size_t system = kLetters.find(letter);
  if (system == std::string_view::npos || text[1] < '0' || text[1] > '3') return std::nullopt;
  auto code = static_cast<std::uint32_t>(system << 14 | static_cast<std::size_t>(text[1] - '0') << 12);
  for (std::size_t k = 2; k < 5; ++k) {
    const std::optional<std::uint8_t> digit = hex_value(text[k]);
    if (!digit) return std::nullopt;
    code |= static_cast<std::uint32_t>(*digit) << (4 * (4 - k));
  }
  return static_cast<std::uint16_t>(code);
}

std::string three_byte_text(std::uint32_t code) {
  std::string text = code_text(static_cast<std::uint16_t>(code >> 8 & 0xFFFF)) + "-";
  for (const unsigned shift : {4U, 0U}) text += kHexDigits[code >> shift & 0xF];
  return text;
}

std::string diagnostic_code_text(const DiagnosticCode& code) {
  return code.three_bytes ? three_byte_text(code.code) : code_text(static_cast<std::uint16_t>(code.code >> 8 & 0xFFFF));
}

std::string_view failure_type_word(std::uint8_t failure_type) {
  const auto* const found = std::find_if(std::begin(kFailureTypes), std::end(kFailureTypes),
                                         [=](const FailureType& type) { return type.value == failure_type; });
  return found != std::end(kFailureTypes) ? found->word : std::string_view();
}

std::span<const StatusBit> status_bits() { return kStatusBits; }

}  // namespace halfsplit::can
