// SPDX-License-Identifier: Apache-2.0
#include "formats/fault_tables.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/number.h"
#include "circuit/part_kinds.h"
#include "fault/rates.h"

namespace halfsplit::formats {

namespace {

using circuit::Stress;
using fault::FaultKind;

constexpr Stress kStresses[] = {Stress::kFlex, Stress::kWet, Stress::kHeat, Stress::kChafe, Stress::kVibration};

// Kinds that some stress makes more frequent, in the order of their first mention.
std::vector<FaultKind> stressed_kinds() {
  std::vector<FaultKind> kinds;
  for (const fault::StressFactor& entry : fault::stress_table())
    if (std::find(kinds.begin(), kinds.end(), entry.kind) == kinds.end()) kinds.push_back(entry.kind);
  std::sort(kinds.begin(), kinds.end());
  return kinds;
}

std::string range_text(const fault::RateRecord& record) {
  if (record.high <= 0.0) return "";
  const std::string unit = record.unit == "x" ? "times " : "";
  const std::string tail = record.unit == "ohm" ? " ohm" : record.unit == "share" ? " of the whole" : "";
  if (record.low == record.high) return unit + base::format_number(record.low) + tail;
  return unit + base::format_number(record.low) + " to " + base::format_number(record.high) + tail +
         (record.logarithmic ? "" : ", even");
}

std::string rates_table() {
  const std::vector<FaultKind> stressed = stressed_kinds();
  std::string text = "| row | kind | in 10,000 years | range | counts under |\n| --- | --- | --- | --- | --- |\n";
  for (const fault::RateRecord& record : fault::rate_table()) {
    const bool counts = std::find(stressed.begin(), stressed.end(), record.stress) != stressed.end();
    text += "| " + std::string(record.item) + " | " + std::string(fault::fault_kind_word(record.kind)) + " | " +
            base::format_number(std::round(record.per_year * 1e7) / 1e3) + " | " + range_text(record) + " | " +
            (counts ? std::string(fault::fault_kind_word(record.stress)) : "") + " |\n";
  }
  return text;
}

std::string stress_table() {
  std::string head = "| stress |";
  std::string rule = "| --- |";
  for (const FaultKind kind : stressed_kinds()) {
    head += " " + std::string(fault::fault_kind_word(kind)) + " |";
    rule += " --- |";
  }
  std::string text = head + "\n" + rule + "\n";
  for (const Stress stress : kStresses) {
    text += "| " + std::string(circuit::stress_word(stress)) + " |";
    for (const FaultKind kind : stressed_kinds()) {
      const double factor = fault::stress_factor(kind, {stress});
      text += factor == 1.0 ? "  |" : " " + base::format_number(factor) + " |";
    }
    text += "\n";
  }
  return text;
}

std::string repairs_table() {
  std::string text = "| row | words before the name | minutes | money |\n| --- | --- | --- | --- |\n";
  for (const fault::RepairRecord& record : fault::repair_table())
    text += "| " + std::string(record.item) + " | `" + std::string(record.verb) + "` | " +
            base::format_number(record.minutes) + " | " + base::format_number(record.part_money) + " |\n";
  return text;
}

}  // namespace

std::string fault_tables_markdown() {
  return "Rates and ranges:\n\n" + rates_table() + "\nFactors of stress:\n\n" + stress_table() +
         "\nWhat repairs take:\n\n" + repairs_table();
}

}  // namespace halfsplit::formats
