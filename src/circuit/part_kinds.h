// SPDX-License-Identifier: Apache-2.0
// One record per part kind: its word in the loom, its terminals, its fields with unit, default and limits. The reader,
// the JSON Schema, the format reference and the netlist builder all read this table.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "circuit/loom.h"

namespace halfsplit::circuit {

struct PartField {
  std::string_view name;  // key in the loom, unit in the name: "rating_a"
  std::string_view unit;
  double fallback;   // NaN: required. A negative infinity: "worked out", see help.
  double low, high;  // inclusive limits
  std::string_view help;
};

struct PartKindInfo {
  PartKind kind;
  std::string_view word;                    // "fuse"
  std::vector<std::string_view> terminals;  // first two are "in" and "out" when a run goes through
  bool plug;                                // by default its terminals sit in a plug, socket or holder
  bool curve_allowed;
  std::vector<PartField> fields;
  std::string_view help;
};

[[nodiscard]] const std::vector<PartKindInfo>& part_kinds();
[[nodiscard]] const PartKindInfo& part_kind(PartKind kind);
[[nodiscard]] const PartKindInfo* find_part_kind(std::string_view word);
// Index of a field of the kind; a CHECK fails when there is none.
[[nodiscard]] std::size_t field_index(PartKind kind, std::string_view field);
[[nodiscard]] double part_value(const Part& part, std::string_view field);

[[nodiscard]] std::string_view pin_role_word(PinRole role);
[[nodiscard]] std::optional<PinRole> find_pin_role(std::string_view word);
[[nodiscard]] std::string_view stress_word(Stress stress);
[[nodiscard]] std::string_view hazard_word(Hazard hazard);

}  // namespace halfsplit::circuit
