// SPDX-License-Identifier: Apache-2.0
// The workshop's profile: shown, and its fields set. A plain file; what it says counts for new jobs and on sheets.
#include <algorithm>

#include "app/meter_file.h"
#include "app/ops.h"
#include "app/profile.h"
#include "app/profile_files.h"
#include "app/words.h"
#include "base/number.h"
#include "formats/profile_text.h"

namespace halfsplit::app {

namespace {

Json profile_json(const job::Profile& profile) {
  Json json{{"workshop", profile.workshop},
            {"address", profile.address},
            {"phone", profile.phone},
            {"technician", profile.technician},
            {"currency", profile.currency}};
  json["labour_per_hour"] = profile.labour_per_hour ? Json(*profile.labour_per_hour) : Json();
  json["tax_percent"] = profile.tax_percent ? Json(*profile.tax_percent) : Json();
  json["kit"] = kit_json(profile.kit);
  json["meter"] = or_common(profile.meter).name;
  return json;
}

std::string profile_words(const job::Profile& profile) {
  std::string text;
  const auto line = [&](const std::string& label, const std::string& value) {
    text += padded(label, 12) + wrap(value.empty() ? "-" : value, 12) + "\n";
  };
  const auto amount = [](const std::optional<double>& value) {
    return value ? base::format_number(*value) : std::string();
  };
  line("workshop", profile.workshop);
  line("address", profile.address);
  line("phone", profile.phone);
  line("technician", profile.technician);
  line("an hour", amount(profile.labour_per_hour) + (profile.labour_per_hour ? " " + profile.currency : ""));
  line("tax", profile.tax_percent ? amount(profile.tax_percent) + " %" : "");
  line("meter", or_common(profile.meter).name);
  std::string roll;
  for (const std::string& one : profile.kit.resistors) roll += (roll.empty() ? "" : " ") + one;
  line("resistors", roll);
  return text;
}

// A number as an option says it; an empty one takes it out.
void set_amount(const Arguments& arguments, const std::string& name, double high, std::optional<double>& value,
                std::vector<base::Diagnostic>& problems) {
  if (!arguments.has(name)) return;
  value.reset();
  if (arguments.get(name).empty()) return;
  const base::Result<double> told = number_option(arguments, name, 0.0, 0.0, high);
  if (told)
    value = *told;
  else
    problems.insert(problems.end(), told.diagnostics().begin(), told.diagnostics().end());
}

void set_kit(const Arguments& arguments, job::Kit& kit, std::vector<base::Diagnostic>& problems) {
  if (arguments.has("resistors")) kit.resistors = arguments.all("resistors");
  const std::pair<const char*, bool*> flags[] = {{"clamp", &kit.clamp},         {"test-lamp", &kit.test_lamp},
                                                 {"long-lead", &kit.long_lead}, {"reader", &kit.reader},
                                                 {"heat-gun", &kit.heat_gun},   {"cold-spray", &kit.cold_spray},
                                                 {"scope", &kit.scope}};
  for (const auto& [name, value] : flags) {
    if (!arguments.has(name)) continue;
    const std::string word = arguments.get(name);
    if (word != "yes" && word != "no")
      problems.push_back(
          base::make_error("profile.flag", std::string(name) + " is yes or no, not \"" + word + "\"", ""));
    *value = word == "yes";
  }
  for (const auto& [name, value, high] : {std::tuple{"money-per-hour", &kit.money_per_hour, 1e6},
                                          {"fetch-minutes", &kit.fetch_minutes, 1e4},
                                          {"road-minutes", &kit.road_minutes, 1e4}}) {
    const base::Result<double> told = number_option(arguments, name, *value, 0.0, high);
    if (told)
      *value = *told;
    else
      problems.insert(problems.end(), told.diagnostics().begin(), told.diagnostics().end());
  }
}

void set_all(Context& context, const Arguments& arguments, job::Profile& profile,
             std::vector<base::Diagnostic>& problems) {
  const std::pair<const char*, std::string*> texts[] = {{"workshop", &profile.workshop},
                                                        {"address", &profile.address},
                                                        {"phone", &profile.phone},
                                                        {"technician", &profile.technician},
                                                        {"currency", &profile.currency}};
  for (const auto& [name, value] : texts)
    if (arguments.has(name)) *value = arguments.get(name);
  set_amount(arguments, "labour-per-hour", 1e6, profile.labour_per_hour, problems);
  set_amount(arguments, "tax-percent", 100.0, profile.tax_percent, problems);
  set_kit(arguments, profile.kit, problems);
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter)
    problems.insert(problems.end(), meter.diagnostics().begin(), meter.diagnostics().end());
  else if (meter->told)
    profile.meter = meter->meter;
}

}  // namespace

base::Result<job::Profile> load_profile(Context& context) {
  if (!context.files.exists(kProfilePath)) return job::Profile{};
  const base::Result<std::string> text = context.files.read(kProfilePath, formats::kMostProfileBytes + 1);
  if (!text) return text.diagnostics();
  return formats::read_profile_text("profile.toml", *text);
}

Reply op_profile(Context& context, const Arguments& arguments) {
  base::Result<job::Profile> profile = load_profile(context);
  if (!profile) return fail(profile.diagnostics());
  std::vector<base::Diagnostic> problems;
  set_all(context, arguments, *profile, problems);
  if (!problems.empty()) return fail(problems);
  Reply reply;
  if (!arguments.values().empty()) {
    const base::Result<std::string> text = formats::write_profile_text(*profile);
    if (!text) return fail(text.diagnostics());
    const base::Result<base::Done> written = context.files.write(kProfilePath, *text);
    if (!written) return fail(written.diagnostics());
  }
  reply.text = profile_words(*profile);
  reply.result = profile_json(*profile);
  reply.result["saved"] = context.files.exists(kProfilePath);
  return reply;
}

}  // namespace halfsplit::app
