// SPDX-License-Identifier: Apache-2.0
// The records. Defaults of [kit] are those of job::Kit.
#include "formats/job_fields.h"

#include <limits>
#include <utility>

#include "base/check.h"
#include "job/job.h"

namespace halfsplit::formats {

namespace {

using enum FieldType;

constexpr double kMostMinutes = 1.0e6;
constexpr double kMostMoney = 1.0e9;

LoomField plain(std::string_view key, FieldType type, std::string_view help) {
  LoomField field;
  field.key = key;
  field.type = type;
  field.help = help;
  return field;
}

LoomField required(LoomField field) {
  field.required = true;
  return field;
}

LoomField text(std::string_view key, std::string_view help) { return plain(key, kText, help); }

LoomField number(std::string_view key, base::Unit unit, double fallback, double low, double high,
                 std::string_view help) {
  LoomField field = plain(key, kNumber, help);
  field.unit = unit;
  field.fallback = fallback;
  field.low = low;
  field.high = high;
  return field;
}

LoomField minutes(std::string_view help) {
  return number("minutes", base::Unit::kMinute, 0.0, 0.0, kMostMinutes, help);
}

LoomField flag(std::string_view key, bool fallback, std::string_view help) {
  LoomField field = plain(key, kFlag, help);
  field.fallback = fallback ? 1.0 : 0.0;
  return field;
}

LoomTable top_table() {
  return {
      "job",
      "what stands above all tables",
      {required(plain("job", kWhole, "format version: 1")), required(text("loom", "the loom file, seen from this one")),
       text("loom_print", "fingerprint of the loom the job counts on"), text("vehicle", "which vehicle"),
       text("complaint", "what the driver says"), text("customer", "whose vehicle"),
       text("opened_at", "when the job began"), text("closed_at", "when it ended"),
       plain("skipped", kRows, "tests that cannot be reached"), plain("kit", kSection, "what is at hand"),
       plain("meter", kSection, "the meter in the hand"), plain("asked", kSection, "the test last proposed"),
       plain("entry", kSection, "one thing seen or done"), plain("drawn", kSection, "prints of what the loom said")}};
}

LoomTable kit_table() {
  const job::Kit kit;
  LoomField money =
      number("money_per_hour", base::Unit::kNone, kit.money_per_hour, 0.0, kMostMoney, "what an hour costs");
  money.unit_word = "money";
  return {"kit",
          "what is at hand",
          {plain("resistors", kRows, "resistors to stand in for parts: [\"120R\", \"4k7\"]"),
           flag("meter", kit.meter, "a multimeter"), flag("test_lamp", kit.test_lamp, "a test lamp"),
           flag("clamp", kit.clamp, "a current clamp"),
           flag("long_lead", kit.long_lead, "a lead from one end to the other"),
           flag("reader", kit.reader, "a code reader"), flag("heat_gun", kit.heat_gun, "a hot air gun"),
           flag("cold_spray", kit.cold_spray, "a can of cold spray"),
           flag("scope", kit.scope, "a scope, or a meter that holds peaks of microseconds"), money,
           number("fetch_minutes", base::Unit::kMinute, kit.fetch_minutes, 0.0, 1.0e4,
                  "to come by a part that is not along"),
           number("road_minutes", base::Unit::kMinute, kit.road_minutes, 0.0, 1.0e4,
                  "the road there and back: what coming once more costs")}};
}

LoomTable asked_table() {
  return {"asked",
          "the test last proposed",
          {required(text("what", "the test: \"volts J4:12@cab G1\"")), plain("first", kRows, "what to do before it"),
           minutes("what it costs")}};
}

LoomTable entry_table() {
  LoomField n = required(plain("n", kWhole, "its number, from 1, never used twice"));
  n.low = 1.0;
  n.high = std::numeric_limits<int>::max();
  return {
      "entry",
      "one thing seen or done",
      {n, required(text("at", "when: \"2024-05-06T07:08:09Z\"")),
       text("saw", "what was looked at: \"volts J4:12@cab G1\""), text("did", "what was done: \"unplug J4\""),
       text("note", "anything worth keeping"), text("shows", "what was seen: \"23.8V\", \"OL\""), minutes("time spent"),
       flag("struck", false, "taken back: it counts for nothing"), text("struck_at", "when it was taken back")}};
}

}  // namespace

const LoomTable& job_table(JobTable table) {
  static const LoomTable top = top_table();
  static const LoomTable kit = kit_table();
  static const LoomTable asked = asked_table();
  static const LoomTable entry = entry_table();
  switch (table) {
    case JobTable::kTop:
      return top;
    case JobTable::kKit:
      return kit;
    case JobTable::kAsked:
      return asked;
    case JobTable::kEntry:
      return entry;
  }
  base::fail_check(__FILE__, __LINE__, "a table of the job file without a record");
}

const std::vector<std::string_view>& entry_verbs() {
  static const std::vector<std::string_view> verbs = {"saw", "did", "note"};
  return verbs;
}

}  // namespace halfsplit::formats
