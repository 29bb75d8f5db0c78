// SPDX-License-Identifier: Apache-2.0
// Prior fault rates by kind of fault and item, with stress multipliers; and what a repair takes by default. OURS: set
// by judgement of the trade (common practice), no outside source; confirmed jobs update them. Rates are per item and
// year.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "circuit/loom.h"
#include "fault/fault.h"

namespace halfsplit::fault {

struct RateRecord {
  std::string_view item;  // "contact", "wire", "lamp", ...
  FaultKind kind;
  double per_year;
  double low, high;  // severity range, equal: none
  bool logarithmic;
  std::string_view unit;
  FaultKind stress = kind;  // whose column of the stress table counts
};

// Every record; docs/formats/loom.md shows them as they are (formats/fault_tables.h).
[[nodiscard]] const std::vector<RateRecord>& rate_table();
[[nodiscard]] const RateRecord& rate_of(std::string_view item, FaultKind kind);
struct StressFactor {
  circuit::Stress stress;
  FaultKind kind;
  double factor;
};
[[nodiscard]] std::span<const StressFactor> stress_table();
// How much more often this kind of fault comes where the item is stressed so (product over stresses).
[[nodiscard]] double stress_factor(FaultKind kind, const std::vector<circuit::Stress>& stresses);
[[nodiscard]] inline double stress_factor(const RateRecord& record, const std::vector<circuit::Stress>& stresses) {
  return stress_factor(record.stress, stresses);
}

struct RepairRecord {
  std::string_view item;
  double minutes;
  double part_money;
  std::string_view verb;  // "remake contact"
};
[[nodiscard]] std::span<const RepairRecord> repair_table();
[[nodiscard]] const RepairRecord& repair_of(std::string_view item);

// The item word of a part kind in both tables.
[[nodiscard]] std::string_view part_item_word(const circuit::Part& part);

}  // namespace halfsplit::fault
