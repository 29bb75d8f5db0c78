// SPDX-License-Identifier: Apache-2.0
// What diagnostic replies tell about trouble codes: ReadDTCInformation (0x59; ISO 14229-1, 11.3), the legislated modes
// 03, 07 and 0A (0x43, 0x47, 0x4A; ISO 15031-5, SAE J1979), and refusals (0x7F). The bytes are those of one message
// (iso_tp.h). Codes as text: ISO 15031-6, SAE J2012. Words are ours.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::can {

// Two bytes as a code: "P0135", "U0100".
[[nodiscard]] std::string code_text(std::uint16_t code);
// Back again; none when it is no such code. Upper or lower case.
[[nodiscard]] std::optional<std::uint16_t> read_code_text(std::string_view text);
// Three bytes: the code and the failure type, "U0100-87".
[[nodiscard]] std::string three_byte_text(std::uint32_t code);
[[nodiscard]] std::string_view failure_type_word(std::uint8_t failure_type);  // empty: not in our list

struct StatusBit {
  std::uint8_t bit = 0;
  std::string_view name;  // as in the standard: "confirmedDTC"
  std::string_view means;
};
[[nodiscard]] std::span<const StatusBit> status_bits();  // eight, bit 0 first
constexpr std::uint8_t kStatusFailsNow = 0x01, kStatusPending = 0x04, kStatusConfirmed = 0x08, kStatusLamp = 0x80;

enum class DiagnosticKind : std::uint8_t { kCodes, kCount, kRefused };

struct DiagnosticCode {
  std::uint32_t code = 0;  // three bytes; of legislated modes two bytes moved up by eight bits
  bool three_bytes = true;
  std::optional<std::uint8_t> status;
  friend bool operator==(const DiagnosticCode&, const DiagnosticCode&) = default;
};
[[nodiscard]] std::string diagnostic_code_text(const DiagnosticCode& code);  // "P0135", "U0100-87"

struct DiagnosticReply {
  DiagnosticKind kind = DiagnosticKind::kCodes;
  std::uint8_t service = 0;      // as replied: 0x59, 0x43, ...; of a refusal the service that was asked (0x19)
  std::uint8_t subfunction = 0;  // of 0x59
  std::string_view tells;        // "codes by status", "confirmed codes", ...
  std::uint8_t status_mask = 0;  // which status bits the module keeps at all; 0x59 only
  std::vector<DiagnosticCode> codes;
  std::uint16_t count = 0;      // kCount, and of legislated modes what the module says it has
  std::uint8_t format = 0;      // kCount: 0 and 4 SAE J2012, 1 ISO 14229-1, 2 SAE J1939-73, 3 ISO 11992-4
  std::uint8_t refusal = 0;     // kRefused; refusal_word
  std::uint16_t left_over = 0;  // bytes at the end that are no whole code
};
// None: the bytes are no such reply.
[[nodiscard]] std::optional<DiagnosticReply> read_diagnostic_reply(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::string_view refusal_word(std::uint8_t code);  // ISO 14229-1, annex A; empty: not in our list

}  // namespace halfsplit::can
