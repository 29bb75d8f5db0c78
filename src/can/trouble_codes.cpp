// SPDX-License-Identifier: Apache-2.0
// Lamps: byte 1 two bits each (malfunction 8-7, red stop 6-5, amber warning 4-3, protect 2-1): 00 off, 01 on, 10
// reserved, 11 not available; byte 2 likewise how a lamp that is on flashes: 00 slowly, 01 fast, 10 reserved, 11 not at
// all. Codes: four bytes each. Method 4: SPN bits 8-1, bits 16-9, then bits 19-17 above five bits of FMI, then the
// conversion bit (0) above seven bits of occurrences. With the bit set: method 3, the same layout; method 2: bits 11-4,
// bits 19-12, then bits 3-1; method 1: bits 19-12, bits 11-4, then bits 3-1 (SAE J1939-73, 5.7.1).
#include "can/trouble_codes.h"

#include <algorithm>
#include <cstdio>

namespace halfsplit::can {

namespace {

constexpr CodeGroup kCodeGroups[] = {
    {0xFD80, "DM28", "permanent"},                     // [m]
    {0xFD82, "DM27", "pending, all"},                  // [m]
    {0xFDB5, "DM23", "previously active, emissions"},  // [m]
    {0xFECA, "DM1", "active"},
    {0xFECB, "DM2", "previously active"},
    {0xFECF, "DM6", "pending, emissions"},  // [m]
    {0xFED4, "DM12", "active, emissions"},  // [m]
};

LampState lamp_at(std::uint8_t lamps, std::uint8_t flashes, unsigned shift) {
  switch (lamps >> shift & 3) {
    case 0:
      return LampState::kOff;
    case 1:
      break;
    case 2:
      return LampState::kReserved;
    default:
      return LampState::kNotAvailable;
  }
  switch (flashes >> shift & 3) {
    case 0:
      return LampState::kSlowFlash;
    case 1:
      return LampState::kFastFlash;
    case 2:
      return LampState::kReserved;
    default:
      return LampState::kOn;
  }
}

struct LampBits {
  std::uint8_t lamp, flash;
};
LampBits lamp_bits(LampState state) {
  switch (state) {
    case LampState::kOn:
      return {1, 3};
    case LampState::kSlowFlash:
      return {1, 0};
    case LampState::kFastFlash:
      return {1, 1};
    case LampState::kReserved:
      return {2, 3};
    case LampState::kNotAvailable:
      return {3, 3};
    case LampState::kOff:
      break;
  }
  return {0, 3};
}

bool is_filler(std::span<const std::uint8_t, 4> bytes) {
  const TroubleCode code = split_trouble_code(bytes);
  if (code.spn == 0 && code.fmi == 0) return true;
  return std::all_of(bytes.begin(), bytes.end(), [](std::uint8_t byte) { return byte == 0xFF; });
}

}  // namespace

std::span<const CodeGroup> code_groups() { return kCodeGroups; }

const CodeGroup* find_code_group(std::uint32_t pgn) {
  const auto* const found =
      std::find_if(std::begin(kCodeGroups), std::end(kCodeGroups), [pgn](const CodeGroup& g) { return g.pgn == pgn; });
  return found != std::end(kCodeGroups) ? found : nullptr;
}

std::string_view lamp_state_word(LampState state) {
  switch (state) {
    case LampState::kOff:
      return "off";
    case LampState::kOn:
      return "on";
    case LampState::kSlowFlash:
      return "slow flash";
    case LampState::kFastFlash:
      return "fast flash";
    case LampState::kReserved:
      return "reserved";
    case LampState::kNotAvailable:
      break;
  }
  return "not available";
}

TroubleCode split_trouble_code(std::span<const std::uint8_t, 4> bytes) {
  const std::uint32_t a = bytes[0];
  const std::uint32_t b = bytes[1];
  const std::uint32_t top = bytes[2] >> 5;
  TroubleCode code;
  code.spn = a | b << 8 | top << 16;
  code.fmi = bytes[2] & 0x1F;
  code.occurrences = bytes[3] & 0x7F;
  code.older_conversion = (bytes[3] & 0x80) != 0;
  code.spn_method_1 = code.older_conversion ? a << 11 | b << 3 | top : code.spn;
  code.spn_method_2 = code.older_conversion ? b << 11 | a << 3 | top : code.spn;
  return code;
}

std::array<std::uint8_t, 4> join_trouble_code(const TroubleCode& code) {
  return {static_cast<std::uint8_t>(code.spn & 0xFF), static_cast<std::uint8_t>(code.spn >> 8 & 0xFF),
          static_cast<std::uint8_t>((code.spn >> 16 & 7) << 5 | (code.fmi & 0x1F)),
          static_cast<std::uint8_t>((code.older_conversion ? 0x80 : 0) | (code.occurrences & 0x7F))};
}

std::vector<std::uint32_t> possible_spns(const TroubleCode& code) {
  std::vector<std::uint32_t> spns = {code.spn};
  for (const std::uint32_t other : {code.spn_method_1, code.spn_method_2}) {
    if (code.older_conversion && std::find(spns.begin(), spns.end(), other) == spns.end()) spns.push_back(other);
  }
  return spns;
}

std::optional<CodeReport> read_code_report(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < kLeastCodeReport) return std::nullopt;
  CodeReport report;
  report.lamps = {lamp_at(bytes[0], bytes[1], 6), lamp_at(bytes[0], bytes[1], 4), lamp_at(bytes[0], bytes[1], 2),
                  lamp_at(bytes[0], bytes[1], 0)};
  std::span<const std::uint8_t> rest = bytes.subspan(2);
  for (; rest.size() >= 4; rest = rest.subspan(4)) {
    if (!is_filler(rest.first<4>())) report.codes.push_back(split_trouble_code(rest.first<4>()));
  }
  report.left_over = static_cast<std::uint8_t>(rest.size());
  return report;
}

std::vector<std::uint8_t> write_code_report(const CodeReport& report) {
  std::uint8_t lamps = 0;
  std::uint8_t flashes = 0;
  const Lamps& all = report.lamps;
  for (const LampState state : {all.malfunction, all.red_stop, all.amber_warning, all.protect}) {
    const LampBits bits = lamp_bits(state);
    lamps = static_cast<std::uint8_t>(lamps << 2 | bits.lamp);
    flashes = static_cast<std::uint8_t>(flashes << 2 | bits.flash);
  }
  std::vector<std::uint8_t> bytes = {lamps, flashes};
  for (const TroubleCode& code : report.codes) {
    const auto four = join_trouble_code(code);
    bytes.insert(bytes.end(), four.begin(), four.end());
  }
  if (report.codes.empty()) bytes.insert(bytes.end(), 4, 0x00);
  while (bytes.size() < 8) bytes.push_back(0xFF);
  return bytes;
}

std::string trouble_code_text(const TroubleCode& code) {
  std::string text = "SPN " + std::to_string(code.spn) + " FMI " + std::to_string(code.fmi);
  const std::vector<std::uint32_t> spns = possible_spns(code);
  for (std::size_t k = 1; k < spns.size(); ++k) text += (k == 1 ? " (or SPN " : " or ") + std::to_string(spns[k]);
  return spns.size() > 1 ? text + " by an older conversion)" : text;
}

}  // namespace halfsplit::can
