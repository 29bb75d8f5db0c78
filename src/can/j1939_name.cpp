// SPDX-License-Identifier: Apache-2.0
// The NAME, low bit first: identity 21, manufacturer 11, ECU instance 3, function instance 5, function 8, reserved 1,
// vehicle system 7, vehicle system instance 4, industry group 3, arbitrary address capable 1 (SAE J1939-81, 4.1.1).
#include "can/j1939_name.h"

namespace halfsplit::can {

J1939Name split_j1939_name(std::uint64_t value) {
  const auto bits = [value](unsigned from, unsigned count) { return value >> from & ((1ULL << count) - 1); };
  J1939Name name;
  name.identity_number = static_cast<std::uint32_t>(bits(0, 21));
  name.manufacturer_code = static_cast<std::uint16_t>(bits(21, 11));
  name.ecu_instance = static_cast<std::uint8_t>(bits(32, 3));
  name.function_instance = static_cast<std::uint8_t>(bits(35, 5));
  name.function = static_cast<std::uint8_t>(bits(40, 8));
  name.reserved = bits(48, 1) != 0;
  name.vehicle_system = static_cast<std::uint8_t>(bits(49, 7));
  name.vehicle_system_instance = static_cast<std::uint8_t>(bits(56, 4));
  name.industry_group = static_cast<std::uint8_t>(bits(60, 3));
  name.arbitrary_address_capable = bits(63, 1) != 0;
  return name;
}

std::uint64_t join_j1939_name(const J1939Name& name) {
  const auto bits = [](std::uint64_t part, unsigned to, unsigned count) {
    return (part & ((1ULL << count) - 1)) << to;
  };
  return bits(name.identity_number, 0, 21) | bits(name.manufacturer_code, 21, 11) | bits(name.ecu_instance, 32, 3) |
         bits(name.function_instance, 35, 5) | bits(name.function, 40, 8) | bits(name.reserved ? 1 : 0, 48, 1) |
         bits(name.vehicle_system, 49, 7) | bits(name.vehicle_system_instance, 56, 4) |
         bits(name.industry_group, 60, 3) | bits(name.arbitrary_address_capable ? 1 : 0, 63, 1);
}

std::optional<std::uint64_t> read_j1939_name(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 8) return std::nullopt;
  std::uint64_t value = 0;
  for (std::size_t k = 0; k < 8; ++k) value |= static_cast<std::uint64_t>(bytes[k]) << (8 * k);
  return value;
}

std::array<std::uint8_t, 8> write_j1939_name(std::uint64_t value) {
  std::array<std::uint8_t, 8> bytes{};
  for (std::size_t k = 0; k < 8; ++k) bytes[k] = static_cast<std::uint8_t>(value >> (8 * k) & 0xFF);
  return bytes;
}

}  // namespace halfsplit::can
