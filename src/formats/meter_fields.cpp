// SPDX-License-Identifier: Apache-2.0
// The records. Defaults are those of meters::MeterProfile.
#include "formats/meter_fields.h"

#include "base/check.h"
#include "meters/meter_profile.h"

namespace halfsplit::formats {

namespace {

using base::Unit;
using enum FieldType;

LoomField plain(std::string_view key, FieldType type, std::string_view help, bool required = false) {
  LoomField field;
  field.key = key;
  field.type = type;
  field.help = help;
  field.required = required;
  return field;
}

LoomField number(std::string_view key, Unit unit, double fallback, double low, double high, std::string_view help,
                 bool required = false) {
  LoomField field = plain(key, kNumber, help, required);
  field.unit = unit;
  field.fallback = fallback;
  field.low = low;
  field.high = high;
  return field;
}

LoomField ranges() { return plain("ranges", kInside, "its ranges from low to high, as the data sheet gives them"); }

LoomTable top_table(bool with_version) {
  LoomField version = plain("meter", kWhole, "format version: 1", true);
  version.low = version.high = 1.0;
  LoomTable table{"meter",
                  "a meter",
                  {plain("name", kText, "what you call it", true), plain("note", kText, "anything worth keeping"),
                   plain("volts", kSection, "on volts"), plain("ohms", kSection, "on ohms and continuity"),
                   plain("clamp", kSection, "the current clamp"), plain("lamp", kSection, "the test lamp")}};
  if (with_version) table.fields.insert(table.fields.begin(), version);
  return table;
}

LoomTable volts_table() {
  const meters::MeterProfile meter;
  return {"volts",
          "on volts",
          {number("input_ohm", Unit::kOhm, meter.input_ohm, 1.0e3, 1.0e12, "between the probes"), ranges()}};
}

LoomTable ohms_table() {
  const meters::MeterProfile meter;
  return {
      "ohms",
      "on ohms and continuity",
      {number("full_scale_v", Unit::kVolt, meter.full_scale_v, 0.01, 20.0, "across the probes at the top of a range"),
       number("live_v", Unit::kVolt, meter.live_v, 0.001, 1.0, "more than this at the probes: no ohms"),
       number("lead_ohm", Unit::kOhm, meter.lead_ohm, 0.0, 10.0, "leads that are not zeroed: adds to every reading"),
       number("lead_spread_ohm", Unit::kOhm, meter.lead_spread_ohm, 0.0, 10.0,
              "how far leads and probes may put a reading off, three sigma"),
       number("continuity_ohm", Unit::kOhm, meter.continuity_ohm, 0.1, 1.0e4, "it beeps below"),
       number("continuity_spread_ohm", Unit::kOhm, meter.continuity_spread_ohm, 0.0, 1.0e4,
              "how far that may be off, three sigma"),
       ranges()}};
}

LoomTable lamp_table() {
  const meters::MeterProfile meter;
  return {"lamp",
          "the test lamp",
          {number("watt", Unit::kWatt, meter.lamp_watt, 0.05, 100.0, "at the vehicle's system volts")}};
}

LoomTable range_table(Unit unit, double lowest, double highest) {
  return {"range",
          "a range",
          {number("to", unit, 0.0, lowest, highest, "the largest reading it shows", true),
           number("percent", Unit::kPercent, 0.0, 0.0, 50.0, "of the reading", true),
           number("counts", Unit::kNone, 0.0, 0.0, 10000.0, "and so many steps of the last digit", true),
           number("digit", unit, 0.0, 1.0e-9, highest, "one step of the last digit: the resolution", true)}};
}

}  // namespace

const LoomTable& inner_meter_table() {
  static const LoomTable inner = top_table(false);
  return inner;
}

const LoomTable& meter_table(MeterTable table) {
  static const LoomTable top = top_table(true);
  static const LoomTable volts = volts_table();
  static const LoomTable ohms = ohms_table();
  static const LoomTable clamp{"clamp", "the current clamp", {ranges()}};
  static const LoomTable lamp = lamp_table();
  static const LoomTable volt_range = range_table(Unit::kVolt, 1.0e-3, 1.0e5);
  static const LoomTable ohm_range = range_table(Unit::kOhm, 1.0, 1.0e12);
  static const LoomTable ampere_range = range_table(Unit::kAmpere, 1.0e-3, 1.0e5);
  switch (table) {
    case MeterTable::kTop:
      return top;
    case MeterTable::kVolts:
      return volts;
    case MeterTable::kOhms:
      return ohms;
    case MeterTable::kClamp:
      return clamp;
    case MeterTable::kLamp:
      return lamp;
    case MeterTable::kVoltRange:
      return volt_range;
    case MeterTable::kOhmRange:
      return ohm_range;
    case MeterTable::kAmpereRange:
      return ampere_range;
  }
  base::fail_check(__FILE__, __LINE__, "a table of the meter file without a record");
}

}  // namespace halfsplit::formats
