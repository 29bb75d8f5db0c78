// SPDX-License-Identifier: Apache-2.0
// Who a module says it is: the 64-bit NAME of an address claim (SAE J1939-81, group 60928, eight bytes, lowest first),
// and words for what its numbers and its address commonly stand for. Words are ours; a maker is a number only. A word
// is a suggestion: any module may claim any address that is free.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace halfsplit::can {

struct J1939Name {
  std::uint32_t identity_number = 0;         // 21 bits
  std::uint16_t manufacturer_code = 0;       // 11 bits
  std::uint8_t ecu_instance = 0;             // 3 bits
  std::uint8_t function_instance = 0;        // 5 bits
  std::uint8_t function = 0;                 // below 128 the same in every industry
  bool reserved = false;                     // should be 0
  std::uint8_t vehicle_system = 0;           // 7 bits
  std::uint8_t vehicle_system_instance = 0;  // 4 bits
  std::uint8_t industry_group = 0;           // 3 bits
  bool arbitrary_address_capable = false;
  friend bool operator==(const J1939Name&, const J1939Name&) = default;
};

[[nodiscard]] J1939Name split_j1939_name(std::uint64_t value);
// The lower value wins when two claim one address.
[[nodiscard]] std::uint64_t join_j1939_name(const J1939Name& name);

// The bytes of an address claim; none when there are fewer than eight.
[[nodiscard]] std::optional<std::uint64_t> read_j1939_name(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::array<std::uint8_t, 8> write_j1939_name(std::uint64_t value);

// Empty: not in our lists.
[[nodiscard]] std::string_view industry_group_word(std::uint8_t industry_group);
[[nodiscard]] std::string_view name_function_word(const J1939Name& name);
// What commonly sits at an address ("engine 1"); 128 to 247 depend on the industry and are mostly empty here.
[[nodiscard]] std::string_view source_address_word(std::uint8_t address);

}  // namespace halfsplit::can
