// SPDX-License-Identifier: Apache-2.0
// Some dozens of common J1939 parameters: where they stand in their group, their scaling and unit, and what bytes say
// about one. Numbers of SAE J1939-71 and -73 as public tables repeat them (tests/data/facts/j1939_spn_common.csv),
// names ours; which rows are from memory is said in each.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace halfsplit::can {

enum class Basis : std::uint8_t { kPublished, kPlaceFromMemory, kMemory };

struct Parameter {
  std::uint32_t pgn = 0;
  std::uint32_t spn = 0;
  std::string_view name;         // "engine speed"
  std::uint8_t start_byte = 1;   // from 1
  std::uint8_t start_bit = 1;    // 1 to 8, 1 the lowest of its byte
  std::uint8_t length_bits = 8;  // up to 32; several bytes: lowest first
  double per_bit = 1.0;
  double offset = 0.0;
  std::string_view unit;  // "rpm"; "state": a switch or a mode, no number
  Basis basis = Basis::kPublished;
};

[[nodiscard]] std::span<const Parameter> parameters();                      // pgn rising, then place
[[nodiscard]] std::span<const Parameter> parameters_of(std::uint32_t pgn);  // empty: none known
[[nodiscard]] const Parameter* find_parameter(std::uint32_t spn);

constexpr std::uint32_t kSpnBatteryVoltage = 168, kSpnKeySwitchVoltage = 158, kSpnChargingVoltage = 167;
constexpr std::uint32_t kSpnEngineSpeed = 190, kSpnRoadSpeed = 84;

enum class Reading : std::uint8_t {
  kValue,
  kNotAvailable,  // all ones (0xFF..), and of states likewise
  kError,         // the module says that its sensor or circuit is at fault (0xFE.., of two bits: 10)
  kReserved,      // 0xFB.. to 0xFD..: no measure
  kCutShort,      // the message is too short to hold it
};
[[nodiscard]] std::string_view reading_word(Reading reading);

struct ParameterReading {
  Reading reading = Reading::kCutShort;
  std::uint32_t raw = 0;
  double value = 0.0;  // in the parameter's unit; kValue only
};
[[nodiscard]] ParameterReading read_parameter(const Parameter& parameter, std::span<const std::uint8_t> bytes);

}  // namespace halfsplit::can
