// SPDX-License-Identifier: Apache-2.0
#include "formats/profile_text.h"

#include "base/number.h"
#include "formats/job_kit.h"
#include "formats/loom_fields.h"
#include "formats/meter_text.h"
#include "formats/one_file.h"
#include "formats/table_reader.h"
#include "formats/toml_quote.h"
#include "formats/toml_recover.h"

namespace halfsplit::formats {

namespace {

constexpr OneFileFormat kProfileFormat{"profile",
                                       kProfileVersion,
                                       kMostProfileBytes,
                                       "1 MiB",
                                       "a profile begins with: profile = 1",
                                       "`halfsplit profile` makes one",
                                       "use the newer Halfsplit that wrote it"};

LoomField profile_field(std::string_view key, FieldType type, std::string_view help) {
  LoomField field;
  field.key = key;
  field.type = type;
  field.help = help;
  return field;
}

LoomField profile_number(std::string_view key, double high, base::Unit unit, std::string_view help) {
  LoomField field = profile_field(key, FieldType::kNumber, help);
  field.unit = unit;
  field.low = 0.0;
  field.high = high;
  return field;
}

const LoomTable& profile_table() {
  static const LoomTable table = [] {
    using enum FieldType;
    LoomField version = profile_field("profile", kWhole, "format version: 1");
    version.required = true;
    version.low = version.high = 1.0;
    return LoomTable{
        "profile",
        "a workshop",
        {version, profile_field("workshop", kText, "the workshop's name"),
         profile_field("address", kText, "where it is, in one line or several"),
         profile_field("phone", kText, "its telephone"), profile_field("technician", kText, "who does the job"),
         profile_number("labour_per_hour", 1.0e6, base::Unit::kNone, "what the customer pays for an hour"),
         profile_field("currency", kText, "of all amounts"),
         profile_number("tax_percent", 100.0, base::Unit::kPercent, "tax on labour and parts"),
         profile_field("kit", kSection, "what is at hand for new jobs"),
         profile_field("meter", kSection, "the meter in the hand")}};
  }();
  return table;
}

job::Profile read_profile(LoomReport& report, const TomlValue& root) {
  TableReader top(report, profile_table(), "the profile", root);
  job::Profile profile;
  profile.workshop = top.text("workshop");
  profile.address = top.text("address");
  profile.phone = top.text("phone");
  profile.technician = top.text("technician");
  profile.labour_per_hour = top.maybe_number("labour_per_hour");
  profile.currency = top.text("currency");
  profile.tax_percent = top.maybe_number("tax_percent");
  if (const TomlValue* kit = top.find("kit")) profile.kit = read_kit_table(report, *kit);
  if (const TomlValue* meter = top.find("meter")) profile.meter = read_meter_table(report, *meter);
  return profile;
}

void put_text(std::string& out, const char* key, const std::string& value) {
  if (!value.empty())
    out += std::string(key) + " = " + toml_quoted(value, value.find('\n') != std::string::npos) + "\n";
}

void put_number(std::string& out, const char* key, std::optional<double> value) {
  if (value) out += std::string(key) + " = " + base::format_number(*value) + "\n";
}

void put_kit(std::string& out, const job::Kit& kit) {
  std::string roll;
  for (const std::string& one : kit.resistors) roll += (roll.empty() ? "" : ", ") + toml_quoted(one, false);
  out += "\n[kit]\nresistors = [" + roll + "]\n";
  const std::pair<const char*, bool> flags[] = {{"meter", kit.meter},           {"test_lamp", kit.test_lamp},
                                                {"clamp", kit.clamp},           {"long_lead", kit.long_lead},
                                                {"reader", kit.reader},         {"heat_gun", kit.heat_gun},
                                                {"cold_spray", kit.cold_spray}, {"scope", kit.scope}};
  for (const auto& [key, value] : flags) out += std::string(key) + (value ? " = true\n" : " = false\n");
  put_number(out, "money_per_hour", kit.money_per_hour);
  put_number(out, "fetch_minutes", kit.fetch_minutes);
  put_number(out, "road_minutes", kit.road_minutes);
}

}  // namespace

base::Result<job::Profile> read_profile_text(const std::string& name, std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // byte order mark
  const bool too_large = text.size() > kMostProfileBytes;
  text::Sources sources;
  sources.add(name, too_large ? std::string() : std::string(text));
  LoomReport report(sources);
  job::Profile profile;
  if (is_readable(report, sources.at(0), too_large, kProfileFormat)) {
    const TomlValue root = read_toml(sources, 0, report);
    if (check_version(report, root, kProfileFormat)) profile = read_profile(report, root);
  }
  const bool failed = report.has_errors();
  std::vector<base::Diagnostic> said = report.take();
  rename_codes(said, kProfileFormat);
  if (failed) return said;
  return {std::move(profile), std::move(said)};
}

base::Result<std::string> write_profile_text(const job::Profile& profile) {
  std::string out =
      "# A workshop's profile for Halfsplit, format 1. Every key is explained in docs/formats/profile.md.\nprofile = "
      "1\n";
  put_text(out, "workshop", profile.workshop);
  put_text(out, "address", profile.address);
  put_text(out, "phone", profile.phone);
  put_text(out, "technician", profile.technician);
  put_number(out, "labour_per_hour", profile.labour_per_hour);
  put_text(out, "currency", profile.currency);
  put_number(out, "tax_percent", profile.tax_percent);
  put_kit(out, profile.kit);
  if (profile.meter) out += "\n" + write_meter_table(*profile.meter, "meter");
  const base::Result<job::Profile> again = read_profile_text("profile", out);
  if (again) return out;
  std::vector<base::Diagnostic> said = again.diagnostics();
  for (base::Diagnostic& one : said) one.where = {};  // a place in a text that nobody has
  return said;
}

}  // namespace halfsplit::formats
