// SPDX-License-Identifier: Apache-2.0
#include "formats/job_kit.h"

#include <utility>
#include <variant>

#include "formats/job_section.h"
#include "formats/value_text.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

constexpr double kMostRollOhm = 1.0e9;

std::vector<std::string> read_resistors(LoomReport& report, JobSection& kit) {
  std::vector<std::string> resistors;
  for (PlacedText& one : kit.texts("resistors")) {
    const Parsed<double> ohm = parse_number(one.text, base::Unit::kOhm);
    if (const auto* bad = std::get_if<TextProblem>(&ohm))
      report.error(bad->code, one.at, caret_length(one), bad->message, bad->hint);
    else if (const double value = std::get<double>(ohm); value <= 0.0 || value > kMostRollOhm)
      report.error("out-of-range", one.at, caret_length(one), "\"" + text::shorten(one.text, 40) + "\" is no resistor",
                   "it lies above 0 and up to 1e9 ohm: \"120R\", \"4k7\"");
    resistors.push_back(std::move(one.text));
  }
  return resistors;
}

}  // namespace

job::Kit read_kit_table(LoomReport& report, const TomlValue& table) {
  JobSection section(report, JobTable::kKit, "[kit]", table);
  job::Kit kit;
  if (section.has("resistors")) kit.resistors = read_resistors(report, section);
  kit.meter = section.flag("meter");
  kit.test_lamp = section.flag("test_lamp");
  kit.clamp = section.flag("clamp");
  kit.long_lead = section.flag("long_lead");
  kit.reader = section.flag("reader");
  kit.heat_gun = section.flag("heat_gun");
  kit.cold_spray = section.flag("cold_spray");
  kit.scope = section.flag("scope");
  kit.money_per_hour = section.number("money_per_hour");
  kit.fetch_minutes = section.number("fetch_minutes");
  kit.road_minutes = section.number("road_minutes");
  return kit;
}

}  // namespace halfsplit::formats
