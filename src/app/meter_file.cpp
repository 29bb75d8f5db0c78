// SPDX-License-Identifier: Apache-2.0
#include "app/meter_file.h"

#include "base/number.h"
#include "formats/meter_text.h"

namespace halfsplit::app {

namespace {

Json ranges_json(const std::vector<meters::MeterRange>& ranges) {
  Json list = Json::array();
  for (const meters::MeterRange& r : ranges)
    list.push_back({{"to", r.up_to}, {"percent", r.percent}, {"counts", r.counts}, {"digit", r.digit}});
  return list;
}

}  // namespace

base::Result<meters::MeterProfile> load_meter(Context& context, const std::string& path) {
  const base::Result<std::string> text = context.files.read(path, formats::kMostMeterBytes);
  if (!text) return text.diagnostics();
  return formats::read_meter_text(path, *text);
}

base::Result<ToldMeter> told_meter(Context& context, const Arguments& arguments) {
  ToldMeter told;
  told.told = arguments.has("meter");
  told.from = arguments.get("meter");
  if (!told.told || told.from == "default") {
    told.from.clear();
    return told;
  }
  base::Result<meters::MeterProfile> meter = load_meter(context, told.from);
  if (!meter) return meter.diagnostics();
  told.meter = std::move(meter).value();
  return told;
}

base::Result<ToldMeter> meter_for_new_job(Context& context, const Arguments& arguments) {
  if (arguments.has("meter") || context.own_meter.empty()) return told_meter(context, arguments);
  base::Result<meters::MeterProfile> meter = load_meter(context, context.own_meter);
  if (!meter) {
    std::vector<base::Diagnostic> said = meter.diagnostics();
    base::Diagnostic note = base::make_warning("meter.own", context.own_meter + " is your own meter for new jobs",
                                               "mend it, or open the job without it: --meter default");
    note.severity = base::Severity::kNote;
    said.push_back(std::move(note));
    return said;
  }
  return ToldMeter{false, std::move(meter).value(), context.own_meter};
}

const meters::MeterProfile& or_common(const std::optional<meters::MeterProfile>& meter) {
  return meter ? *meter : meters::default_meter();
}

Json meter_json(const meters::MeterProfile& meter) {
  return {{"name", meter.name},
          {"note", meter.note},
          {"volts", {{"input_ohm", meter.input_ohm}, {"ranges", ranges_json(meter.volts)}}},
          {"ohms",
           {{"full_scale_v", meter.full_scale_v},
            {"live_v", meter.live_v},
            {"lead_ohm", meter.lead_ohm},
            {"lead_spread_ohm", meter.lead_spread_ohm},
            {"continuity_ohm", meter.continuity_ohm},
            {"continuity_spread_ohm", meter.continuity_spread_ohm},
            {"ranges", ranges_json(meter.ohms)}}},
          {"clamp", {{"ranges", ranges_json(meter.clamp)}}},
          {"lamp", {{"watt", meter.lamp_watt}}}};
}

std::string meter_words(const meters::MeterProfile& meter) {
  return meter.name + " (" + base::format_quantity(meter.input_ohm, base::Unit::kOhm) + " on volts)";
}

}  // namespace halfsplit::app
