// SPDX-License-Identifier: Apache-2.0
// The J1939 parameter groups that a vehicle's modules commonly send: what they tell and how often, to fill in what a
// drawing leaves out. Words are ours; numbers and acronyms are those of open tables of SAE J1939-71 and -73, periods
// from memory of them (tests/data/facts/j1939_spn_common.csv); what is not in that table is marked in the .cpp.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace halfsplit::can {

struct J1939Group {
  std::uint32_t pgn = 0;  // 0 to 0x3FFFF
  std::string_view name;  // "EEC1"
  std::string_view tells;
  double every_ms = 0.0;  // 0: on request only
};

[[nodiscard]] std::span<const J1939Group> j1939_groups();             // pgn rising
[[nodiscard]] const J1939Group* find_j1939_group(std::uint32_t pgn);  // none: not one of these

}  // namespace halfsplit::can
