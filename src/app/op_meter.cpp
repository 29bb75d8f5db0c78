// SPDX-License-Identifier: Apache-2.0
// The meter in force: of a file, of a job, or what a new job would get.
#include <algorithm>

#include "app/meter_file.h"
#include "app/ops.h"
#include "app/session.h"
#include "app/words.h"
#include "base/number.h"
#include "formats/meter_text.h"

namespace halfsplit::app {

namespace {

bool job_in_folder(Context& context) {
  const std::vector<std::string> names = context.files.list(".");
  return std::count_if(names.begin(), names.end(), [](const auto& name) { return name.ends_with(".job.toml"); }) == 1;
}

// `from` in words: "of the job x.job.toml".
base::Result<meters::MeterProfile> meter_in_force(Context& context, const Arguments& arguments, std::string& from) {
  // A file to start from is the common handheld's: its place may be that of the user's own meter, just emptied by the
  // shell.
  const bool start = arguments.has("write") && !arguments.has("job");
  if (arguments.has("meter") || start) {
    base::Result<ToldMeter> told = told_meter(context, arguments);
    if (!told) return told.diagnostics();
    from = told->from.empty() ? "built in" : "of " + told->from;
    return or_common(told->meter);
  }
  if (arguments.has("job") || job_in_folder(context)) {
    std::string path;
    base::Result<job::Job> job = read_job(context, arguments.get("job"), path);
    if (!job) return job.diagnostics();
    from = "of the job " + path + (job->meter ? "" : ", which names none: built in");
    return or_common(job->meter);
  }
  base::Result<ToldMeter> own = meter_for_new_job(context, arguments);
  if (!own) return own.diagnostics();
  from = own->from.empty() ? "of new jobs: built in" : "of new jobs, from " + own->from;
  return or_common(own->meter);
}

std::string ranges_text(std::string_view name, const std::vector<meters::MeterRange>& ranges, base::Unit unit) {
  std::string text;
  for (const meters::MeterRange& r : ranges)
    text += "  " + padded(text.empty() ? std::string(name) : "", 8) + padded(base::format_quantity(r.up_to, unit), 14) +
            padded(base::format_number(r.percent) + " % + " + base::format_number(r.counts), 16) +
            base::format_quantity(r.digit, unit) + "\n";
  return text;
}

std::string meter_text(const meters::MeterProfile& meter) {
  const auto ohm = [](double value) { return base::format_quantity(value, base::Unit::kOhm); };
  const auto volt = [](double value) { return base::format_quantity(value, base::Unit::kVolt); };
  std::string text = meter.note.empty() ? "" : "  " + wrap(meter.note, 2) + "\n";
  text += "  on      up to         percent+counts  last digit\n";
  text += ranges_text("volts", meter.volts, base::Unit::kVolt);
  text += ranges_text("ohms", meter.ohms, base::Unit::kOhm);
  text += ranges_text("clamp", meter.clamp, base::Unit::kAmpere);
  text += "  volts: " + ohm(meter.input_ohm) + " between the probes\n";
  text += "  ohms: " + volt(meter.full_scale_v) + " at the top of a range; none above " + volt(meter.live_v) +
          " at the probes; leads add " + ohm(meter.lead_ohm) + ", give or take " + ohm(meter.lead_spread_ohm) + "\n";
  text += "  continuity: beeps below " + ohm(meter.continuity_ohm) + ", give or take " +
          ohm(meter.continuity_spread_ohm) + "\n";
  return text + "  test lamp: " + base::format_number(meter.lamp_watt) + " W\n";
}

}  // namespace

Reply op_meter(Context& context, const Arguments& arguments) {
  std::string from;
  const base::Result<meters::MeterProfile> meter = meter_in_force(context, arguments, from);
  if (!meter) return fail(meter.diagnostics());
  Reply reply;
  reply.result = meter_json(*meter);
  reply.result["from"] = from;
  reply.text = meter->name + "   (" + from + ")\n" + meter_text(*meter);
  if (!arguments.has("write")) return reply;
  reply.text = formats::write_meter_text(*meter);
  reply.result["toml"] = reply.text;
  return reply;
}

}  // namespace halfsplit::app
