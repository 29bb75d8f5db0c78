// SPDX-License-Identifier: Apache-2.0
// What the technician has along, and what an hour and a part's way cost.
#include "app/job_steps.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/session.h"
#include "app/words.h"
#include "base/number.h"

namespace halfsplit::app {

Reply op_kit(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  job::Kit& kit = session.job.kit;
  std::vector<base::Diagnostic> problems;
  if (arguments.has("like")) {
    std::string path;
    const base::Result<job::Job> other = read_job(context, arguments.get("like"), path);
    if (!other) return fail(other.diagnostics());
    kit = other->kit;
    session.job.meter = other->meter;
  }
  if (arguments.has("resistors")) {
    kit.resistors.clear();
    for (const std::string& text : arguments.all("resistors")) {
      const base::Result<base::Quantity> ohm = base::parse_quantity(text);
      if (!ohm)
        problems.insert(problems.end(), ohm.diagnostics().begin(), ohm.diagnostics().end());
      else if (ohm->over_range || ohm->value <= 0.0 ||
               (ohm->unit != base::Unit::kNone && ohm->unit != base::Unit::kOhm))
        problems.push_back(
            base::make_error("kit.resistor", "\"" + text + "\" is not a resistor's value", "for example: 4k7"));
      else
        kit.resistors.push_back(text);
    }
  }
  const auto flag = [&](const char* name, bool& value) {
    if (!arguments.has(name)) return;
    const std::string text = arguments.get(name);
    if (text != "yes" && text != "no")
      problems.push_back(base::make_error("kit.flag", std::string(name) + " is yes or no, not \"" + text + "\"", ""));
    value = text == "yes";
  };
  flag("clamp", kit.clamp);
  flag("test-lamp", kit.test_lamp);
  flag("long-lead", kit.long_lead);
  flag("reader", kit.reader);
  flag("heat-gun", kit.heat_gun);
  flag("cold-spray", kit.cold_spray);
  flag("scope", kit.scope);
  const auto number = [&](const char* name, double& value, double low, double high, base::Unit unit) {
    if (!arguments.has(name)) return;
    const base::Result<base::Quantity> q = base::parse_quantity(arguments.get(name));
    if (!q)
      problems.insert(problems.end(), q.diagnostics().begin(), q.diagnostics().end());
    else if (q->over_range || q->value < low || q->value > high || (q->unit != base::Unit::kNone && q->unit != unit))
      problems.push_back(base::make_error("kit.number",
                                          std::string(name) + " is a number from " + base::format_number(low) + " to " +
                                              base::format_number(high) + ", not \"" + arguments.get(name) + "\"",
                                          ""));
    else
      value = q->value;
  };
  number("money-per-hour", kit.money_per_hour, 1.0, 1e6, base::Unit::kNone);
  number("fetch-minutes", kit.fetch_minutes, 0.0, 1e4, base::Unit::kMinute);
  number("road-minutes", kit.road_minutes, 0.0, 1e4, base::Unit::kMinute);
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) problems.insert(problems.end(), meter.diagnostics().begin(), meter.diagnostics().end());
  if (!problems.empty()) return fail(problems);
  if (meter->told) session.job.meter = meter->meter;
  session.job.asked.reset();
  Reply reply;
  std::string roll;
  for (const std::string& r : kit.resistors) roll += (roll.empty() ? "" : " ") + r;
  const auto yes = [](bool b) { return b ? "yes" : "no"; };
  reply.text = std::string("resistors  ") + wrap(roll, 11) + "\nclamp " + yes(kit.clamp) + ", test lamp " +
               yes(kit.test_lamp) + ", long lead " + yes(kit.long_lead) + ", code reader " + yes(kit.reader) +
               ", hot air gun " + yes(kit.heat_gun) + ", cold spray " + yes(kit.cold_spray) + ", scope " +
               yes(kit.scope) + "\nan hour    " + base::format_number(kit.money_per_hour) + " of money; " +
               (kit.fetch_minutes > 0.0 ? "to come by a part " + minutes_text(kit.fetch_minutes) : "parts are along") +
               "; the road " + minutes_text(kit.road_minutes) + "\nmeter      " +
               wrap(meter_words(or_common(session.job.meter)), 11) + "\n";
  reply.result = kit_json(kit);
  reply.result["meter"] = or_common(session.job.meter).name;
  return saved(context, session, std::move(reply));
}

}  // namespace halfsplit::app
