// SPDX-License-Identifier: Apache-2.0
// The table, from tests/data/facts/j1939_spn_common.csv row by row (tests/oracle/parameters.test.cpp compares them),
// and the ranges of SAE J1939-71, 5.2: of the highest byte 0xFF not available, 0xFE error, 0xFB to 0xFD no measure; of
// a state of two to seven bits the highest two values. Rows marked published have scaling and place from open tables
// that agree, kPlaceFromMemory scaling from one and the place from memory.
#include "can/parameters.h"

#include <algorithm>
#include <iterator>

namespace halfsplit::can {

namespace {

constexpr Basis kPub = Basis::kPublished;
constexpr Basis kPlc = Basis::kPlaceFromMemory;
constexpr Basis kMem = Basis::kMemory;

// Group, SPN, name, byte, bit, bits, per bit, offset, unit, basis.
constexpr Parameter kParameters[] = {
    {0xF001, 561, "traction control acting on engine", 1, 1, 2, 1, 0, "state", kPlc},
    {0xF001, 563, "anti-lock brakes active", 1, 5, 2, 1, 0, "state", kPlc},
    {0xF001, 1121, "electronic brake switch", 1, 7, 2, 1, 0, "state", kPlc},
    {0xF001, 521, "brake pedal position", 2, 1, 8, 0.4, 0, "%", kPlc},
    {0xF002, 573, "converter lock-up engaged", 1, 3, 2, 1, 0, "state", kPlc},
    {0xF002, 574, "shift in process", 1, 5, 2, 1, 0, "state", kPlc},
    {0xF002, 191, "gearbox output shaft speed", 2, 1, 16, 0.125, 0, "rpm", kPlc},
    {0xF002, 161, "gearbox input shaft speed", 6, 1, 16, 0.125, 0, "rpm", kPlc},
    {0xF003, 558, "pedal 1 low idle switch", 1, 1, 2, 1, 0, "state", kPub},
    {0xF003, 559, "kickdown switch", 1, 3, 2, 1, 0, "state", kPub},
    {0xF003, 91, "accelerator pedal position 1", 2, 1, 8, 0.4, 0, "%", kPub},
    {0xF003, 92, "engine load at current speed", 3, 1, 8, 1, 0, "%", kPub},
    {0xF003, 974, "remote pedal position", 4, 1, 8, 0.4, 0, "%", kPlc},
    {0xF004, 899, "engine torque mode", 1, 1, 4, 1, 0, "state", kPlc},
    {0xF004, 512, "driver demanded engine torque", 2, 1, 8, 1, -125, "%", kPlc},
    {0xF004, 513, "actual engine torque", 3, 1, 8, 1, -125, "%", kPub},
    {0xF004, 190, "engine speed", 4, 1, 16, 0.125, 0, "rpm", kPub},
    {0xF004, 1483, "address controlling the engine", 6, 1, 8, 1, 0, "address", kPlc},
    {0xF004, 2432, "engine demand torque", 8, 1, 8, 1, -125, "%", kPlc},
    {0xF005, 524, "selected gear", 1, 1, 8, 1, -125, "gear", kPub},
    {0xF005, 526, "actual gear ratio", 2, 1, 16, 0.001, 0, "ratio", kPlc},
    {0xF005, 523, "current gear", 4, 1, 8, 1, -125, "gear", kPub},
    {0xFE56, 1761, "reagent tank level", 1, 1, 8, 0.4, 0, "%", kPub},
    {0xFE56, 3031, "reagent tank temperature", 2, 1, 8, 1, -40, "degC", kPlc},
    {0xFE6C, 1612, "driver 1 working state", 1, 1, 3, 1, 0, "state", kPub},
    {0xFE6C, 1613, "driver 2 working state", 1, 4, 3, 1, 0, "state", kPub},
    {0xFE6C, 1624, "tachograph speed", 7, 1, 16, 0.00390625, 0, "km/h", kPlc},
    {0xFEAE, 46, "air supply pressure", 1, 1, 8, 8, 0, "kPa", kPlc},
    {0xFEAE, 1087, "service brake circuit 1 pressure", 3, 1, 8, 8, 0, "kPa", kPlc},
    {0xFEAE, 1088, "service brake circuit 2 pressure", 4, 1, 8, 8, 0, "kPa", kPlc},
    {0xFEBF, 904, "front axle speed", 1, 1, 16, 0.00390625, 0, "km/h", kPub},
    {0xFEBF, 905, "front left wheel relative speed", 3, 1, 8, 0.0625, -7.8125, "km/h", kPub},
    {0xFEBF, 906, "front right wheel relative speed", 4, 1, 8, 0.0625, -7.8125, "km/h", kPub},
    {0xFEC1, 917, "total distance, fine", 1, 1, 32, 0.005, 0, "km", kPub},
    {0xFEC1, 918, "trip distance, fine", 5, 1, 32, 0.005, 0, "km", kPlc},
    {0xFECA, 987, "protect lamp", 1, 1, 2, 1, 0, "state", kMem},
    {0xFECA, 624, "amber warning lamp", 1, 3, 2, 1, 0, "state", kMem},
    {0xFECA, 623, "red stop lamp", 1, 5, 2, 1, 0, "state", kMem},
    {0xFECA, 1213, "malfunction lamp", 1, 7, 2, 1, 0, "state", kMem},
    {0xFEE0, 244, "trip distance", 1, 1, 32, 0.125, 0, "km", kPlc},
    {0xFEE0, 245, "total distance", 5, 1, 32, 0.125, 0, "km", kPlc},
    {0xFEE4, 1081, "wait-to-start lamp", 4, 1, 2, 1, 0, "state", kPlc},
    {0xFEE5, 247, "engine hours", 1, 1, 32, 0.05, 0, "h", kPub},
    {0xFEE6, 959, "clock seconds", 1, 1, 8, 0.25, 0, "s", kPlc},
    {0xFEE6, 960, "clock minutes", 2, 1, 8, 1, 0, "min", kPlc},
    {0xFEE6, 961, "clock hours", 3, 1, 8, 1, 0, "h", kPlc},
    {0xFEE6, 963, "clock month", 4, 1, 8, 1, 0, "month", kPlc},
    {0xFEE6, 962, "clock day", 5, 1, 8, 0.25, 0, "day", kPlc},
    {0xFEE6, 964, "clock year", 6, 1, 8, 1, 1985, "year", kPlc},
    {0xFEE9, 182, "trip fuel", 1, 1, 32, 0.5, 0, "L", kPlc},
    {0xFEE9, 250, "total fuel", 5, 1, 32, 0.5, 0, "L", kPub},
    {0xFEEE, 110, "engine coolant temperature", 1, 1, 8, 1, -40, "degC", kPub},
    {0xFEEE, 174, "fuel temperature", 2, 1, 8, 1, -40, "degC", kPlc},
    {0xFEEE, 175, "engine oil temperature", 3, 1, 16, 0.03125, -273, "degC", kPub},
    {0xFEEE, 176, "turbocharger oil temperature", 5, 1, 16, 0.03125, -273, "degC", kPlc},
    {0xFEEE, 52, "intercooler temperature", 7, 1, 8, 1, -40, "degC", kPlc},
    {0xFEEF, 94, "fuel delivery pressure", 1, 1, 8, 4, 0, "kPa", kPub},
    {0xFEEF, 98, "engine oil level", 3, 1, 8, 0.4, 0, "%", kPub},
    {0xFEEF, 100, "engine oil pressure", 4, 1, 8, 4, 0, "kPa", kPub},
    {0xFEEF, 101, "crankcase pressure", 5, 1, 16, 0.0078125, -250, "kPa", kPub},
    {0xFEEF, 109, "coolant pressure", 7, 1, 8, 2, 0, "kPa", kPub},
    {0xFEEF, 111, "coolant level", 8, 1, 8, 0.4, 0, "%", kPub},
    {0xFEF1, 69, "two-speed axle switch", 1, 1, 2, 1, 0, "state", kPlc},
    {0xFEF1, 70, "parking brake switch", 1, 3, 2, 1, 0, "state", kPub},
    {0xFEF1, 84, "wheel based vehicle speed", 2, 1, 16, 0.00390625, 0, "km/h", kPub},
    {0xFEF1, 595, "cruise control active", 4, 1, 2, 1, 0, "state", kPlc},
    {0xFEF1, 596, "cruise control enable switch", 4, 3, 2, 1, 0, "state", kPlc},
    {0xFEF1, 597, "brake switch", 4, 5, 2, 1, 0, "state", kPub},
    {0xFEF1, 598, "clutch switch", 4, 7, 2, 1, 0, "state", kPub},
    {0xFEF1, 86, "cruise set speed", 6, 1, 8, 1, 0, "km/h", kPlc},
    {0xFEF1, 527, "cruise control state", 7, 6, 3, 1, 0, "state", kPlc},
    {0xFEF2, 183, "fuel rate", 1, 1, 16, 0.05, 0, "L/h", kPub},
    {0xFEF2, 184, "momentary fuel economy", 3, 1, 16, 0.001953125, 0, "km/L", kPlc},
    {0xFEF2, 185, "average fuel economy", 5, 1, 16, 0.001953125, 0, "km/L", kPlc},
    {0xFEF2, 51, "throttle position", 7, 1, 8, 0.4, 0, "%", kPlc},
    {0xFEF5, 108, "barometric pressure", 1, 1, 8, 0.5, 0, "kPa", kPub},
    {0xFEF5, 170, "cab temperature", 2, 1, 16, 0.03125, -273, "degC", kPlc},
    {0xFEF5, 171, "ambient air temperature", 4, 1, 16, 0.03125, -273, "degC", kPlc},
    {0xFEF5, 172, "air inlet temperature", 6, 1, 8, 1, -40, "degC", kPlc},
    {0xFEF6, 102, "boost pressure", 2, 1, 8, 2, 0, "kPa", kPub},
    {0xFEF6, 105, "intake manifold temperature", 3, 1, 8, 1, -40, "degC", kPlc},
    {0xFEF6, 106, "air inlet pressure", 4, 1, 8, 2, 0, "kPa", kPlc},
    {0xFEF6, 107, "air filter pressure difference", 5, 1, 8, 0.05, 0, "kPa", kPlc},
    {0xFEF6, 173, "exhaust gas temperature", 6, 1, 16, 0.03125, -273, "degC", kPlc},
    {0xFEF7, 114, "net battery current", 1, 1, 8, 1, -125, "A", kPlc},
    {0xFEF7, 115, "alternator current", 2, 1, 8, 1, 0, "A", kPlc},
    {0xFEF7, 167, "charging system voltage", 3, 1, 16, 0.05, 0, "V", kPlc},
    {0xFEF7, 168, "battery voltage, power input 1", 5, 1, 16, 0.05, 0, "V", kPlc},
    {0xFEF7, 158, "key switch voltage", 7, 1, 16, 0.05, 0, "V", kPlc},
    {0xFEF8, 127, "gearbox oil pressure", 4, 1, 8, 16, 0, "kPa", kPub},
    {0xFEF8, 177, "gearbox oil temperature", 5, 1, 16, 0.03125, -273, "degC", kPub},
    {0xFEFC, 80, "washer fluid level", 1, 1, 8, 0.4, 0, "%", kPlc},
    {0xFEFC, 96, "fuel level 1", 2, 1, 8, 0.4, 0, "%", kPub},
    {0xFEFC, 38, "fuel level 2", 7, 1, 8, 0.4, 0, "%", kPlc},
    {0xFEFF, 97, "water in fuel", 1, 1, 2, 1, 0, "state", kPlc},
};

struct ByPgn {
  bool operator()(const Parameter& a, std::uint32_t b) const { return a.pgn < b; }
  bool operator()(std::uint32_t a, const Parameter& b) const { return a < b.pgn; }
};

// What the value's highest byte says; of less than a byte, what the whole of it says.
Reading range_of(std::uint32_t raw, unsigned bits) {
  const std::uint32_t all = bits >= 32 ? 0xFFFFFFFFU : (1U << bits) - 1;
  if (bits < 2) return Reading::kValue;
  if (bits < 8) return raw == all ? Reading::kNotAvailable : raw == all - 1 ? Reading::kError : Reading::kValue;
  const std::uint32_t top = raw >> (bits - 8);
  if (top == 0xFF) return Reading::kNotAvailable;
  if (top == 0xFE) return Reading::kError;
  return top >= 0xFB ? Reading::kReserved : Reading::kValue;
}

}  // namespace

std::span<const Parameter> parameters() { return kParameters; }

std::span<const Parameter> parameters_of(std::uint32_t pgn) {
  const auto [first, last] = std::equal_range(std::begin(kParameters), std::end(kParameters), pgn, ByPgn());
  return {first, last};
}

const Parameter* find_parameter(std::uint32_t spn) {
  const auto* const found = std::find_if(std::begin(kParameters), std::end(kParameters),
                                         [spn](const Parameter& parameter) { return parameter.spn == spn; });
  return found != std::end(kParameters) ? found : nullptr;
}

std::string_view reading_word(Reading reading) {
  switch (reading) {
    case Reading::kValue:
      return "value";
    case Reading::kNotAvailable:
      return "not available";
    case Reading::kError:
      return "error reported";
    case Reading::kReserved:
      return "no measure";
    case Reading::kCutShort:
      break;
  }
  return "message too short";
}

ParameterReading read_parameter(const Parameter& parameter, std::span<const std::uint8_t> bytes) {
  const std::size_t first_bit = (parameter.start_byte - 1U) * 8U + parameter.start_bit - 1U;
  ParameterReading result;
  if (first_bit + parameter.length_bits > bytes.size() * 8) return result;
  std::uint64_t raw = 0;
  for (std::size_t k = first_bit / 8; k * 8 < first_bit + parameter.length_bits; ++k) {
    raw |= static_cast<std::uint64_t>(bytes[k]) << (k - first_bit / 8) * 8;
  }
  result.raw = static_cast<std::uint32_t>(raw >> first_bit % 8 & ((1ULL << parameter.length_bits) - 1));
  result.reading = range_of(result.raw, parameter.length_bits);
  if (result.reading == Reading::kValue) result.value = result.raw * parameter.per_bit + parameter.offset;
  return result;
}

}  // namespace halfsplit::can
