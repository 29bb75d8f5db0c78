// SPDX-License-Identifier: Apache-2.0
// Trouble codes as J1939 modules report them: lamps and a list of codes in DM1 (active) and DM2 (previously active) and
// in the groups of the same layout (SAE J1939-73, 5.7). The bytes are those of one frame or of one long message
// (transport.h). The words for failure modes are ours.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::can {

// Groups that carry lamps and codes in this layout.
struct CodeGroup {
  std::uint32_t pgn = 0;
  std::string_view name;   // "DM1"
  std::string_view tells;  // "active"
};
[[nodiscard]] std::span<const CodeGroup> code_groups();             // pgn rising
[[nodiscard]] const CodeGroup* find_code_group(std::uint32_t pgn);  // none: not one of these
constexpr std::uint32_t kPgnActiveCodes = 0xFECA;                   // DM1, 65226
constexpr std::uint32_t kPgnPreviousCodes = 0xFECB;                 // DM2, 65227

enum class LampState : std::uint8_t { kOff, kOn, kSlowFlash, kFastFlash, kReserved, kNotAvailable };
[[nodiscard]] std::string_view lamp_state_word(LampState state);

struct Lamps {
  LampState malfunction = LampState::kOff;  // emissions (MIL)
  LampState red_stop = LampState::kOff;
  LampState amber_warning = LampState::kOff;
  LampState protect = LampState::kOff;
  friend bool operator==(const Lamps&, const Lamps&) = default;
};

struct TroubleCode {
  std::uint32_t spn = 0;         // 19 bits; conversion method 4, which is also that of method 3
  std::uint8_t fmi = 0;          // 5 bits
  std::uint8_t occurrences = 0;  // 127: not said
  // The conversion method bit is set: made before method 4, and the bytes do not say whether by method 1, 2 or 3.
  bool older_conversion = false;
  std::uint32_t spn_method_1 = 0, spn_method_2 = 0;  // the other readings; as `spn` unless older_conversion
  friend bool operator==(const TroubleCode&, const TroubleCode&) = default;
};
constexpr std::uint8_t kOccurrencesNotSaid = 127;
constexpr std::uint32_t kFirstProprietarySpn = 520192;  // from here on an SPN means what the maker wishes

// Every SPN that the bytes may mean, likeliest (method 3) first, each once.
[[nodiscard]] std::vector<std::uint32_t> possible_spns(const TroubleCode& code);

[[nodiscard]] TroubleCode split_trouble_code(std::span<const std::uint8_t, 4> bytes);
[[nodiscard]] std::array<std::uint8_t, 4> join_trouble_code(const TroubleCode& code);

struct CodeReport {
  Lamps lamps;
  std::vector<TroubleCode> codes;  // without the filler "no code" (SPN 0 FMI 0, or all ones)
  std::uint8_t left_over = 0;      // bytes at the end that are no whole code: 2 in a single frame
};
// None when there are fewer bytes than kLeastCodeReport.
constexpr std::size_t kLeastCodeReport = 2;
[[nodiscard]] std::optional<CodeReport> read_code_report(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::vector<std::uint8_t> write_code_report(const CodeReport& report);  // at least 8 bytes

// "SPN 639 FMI 9"; with other possible SPNs after it: "SPN 609 FMI 19 (or SPN 779, 1 by an older conversion)".
[[nodiscard]] std::string trouble_code_text(const TroubleCode& code);

struct FailureMode {
  std::string_view name;    // "voltage low"
  std::string_view means;   // "voltage below normal or wire shorted to a low source"
  std::string_view wiring;  // what of the wiring usually does it: "short to ground or open feed"; empty: nothing
};
[[nodiscard]] FailureMode failure_mode(std::uint8_t fmi);  // 0 to 31; above: empty

}  // namespace halfsplit::can
