// SPDX-License-Identifier: Apache-2.0
// `bench --calibration`: what belief said against what was so, over thousands of virtual vehicles.
#include <algorithm>

#include "app/calibration.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/words.h"
#include "base/number.h"
#include "report/reliability_svg.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kPlannedOneIn = 20;  // the last of so many; planning costs far more than a drawn reading

std::string three(double value) { return base::format_significant(value, 3); }

Json sum_json(const infer::Reliability& r) {
  const infer::Reliability::Bin all = r.all();
  return {{"claims", all.claims},      {"said", all.mean_said()},
          {"true", all.share_right()}, {"calibration_error", r.calibration_error()},
          {"brier", r.brier()},        {"brier_of_base_rate", r.brier_of_base_rate()}};
}

Json bins_json(const infer::Reliability& r) {
  Json bins = Json::array();
  for (const infer::Reliability::Bin& bin : r.bins())
    if (bin.claims > 0)
      bins.push_back({{"said", bin.mean_said()}, {"true", bin.share_right()}, {"claims", bin.claims}});
  return bins;
}

Json whole_json(const infer::Reliability& r) {
  Json json = sum_json(r);
  json["bins"] = bins_json(r);
  return json;
}

Json by_json(const std::map<std::string, infer::Reliability>& kinds) {
  Json list = Json::array();
  for (const auto& [kind, r] : kinds) {
    Json row = {{"kind", kind}};
    row.update(sum_json(r));
    list.push_back(std::move(row));
  }
  return list;
}

std::string sum_row(const std::string& name, const infer::Reliability& r) {
  const infer::Reliability::Bin all = r.all();
  return padded(name, 27) + padded(std::to_string(all.claims), 9) + padded(three(100.0 * all.mean_said()) + " %", 9) +
         padded(three(100.0 * all.share_right()) + " %", 9) + padded(three(r.calibration_error()), 9) +
         padded(three(r.brier()), 9) + three(r.brier_of_base_rate()) + "\n";
}

std::string heading(const std::string& name) {
  return padded(name, 27) + padded("claims", 9) + padded("said", 9) + padded("was so", 9) + padded("error", 9) +
         padded("Brier", 9) + "base rate's\n";
}

std::string bins_text(const infer::Reliability& r) {
  std::string text = padded("said", 10) + padded("was so", 10) + "claims\n";
  for (const infer::Reliability::Bin& bin : r.bins())
    if (bin.claims > 0)
      text += padded(three(100.0 * bin.mean_said()) + " %", 10) + padded(three(100.0 * bin.share_right()) + " %", 10) +
              std::to_string(bin.claims) + "\n";
  return text;
}

std::string tally_text(const Tally& tally) {
  std::string text = std::to_string(tally.vehicles) + " vehicles, " + std::to_string(tally.readings) +
                     " readings after the complaints; on " + std::to_string(tally.advised) +
                     " of the vehicles the planner chose them\n\n";
  text += bins_text(tally.claims) + "\n" + heading("claims");
  text += sum_row("all", tally.claims) + sum_row("  repairs", tally.repairs) +
          sum_row("  not on this drawing", tally.beyond) + sum_row("when testing stopped", tally.stops) + "\n";
  text += heading("by the last reading");
  for (const auto& [kind, r] : tally.by_reading) text += sum_row(kind, r);
  text += "\n" + heading("by what was suspected");
  for (const auto& [kind, r] : tally.by_suspect) text += sum_row(kind, r);
  text += "\nhidden:";
  for (const auto& [kind, count] : tally.hidden)
    text += (kind == tally.hidden.begin()->first ? " " : ", ") + kind + " " + std::to_string(count);
  return text + "\n";
}

Json tally_json(const Tally& tally) {
  Json hidden = Json::array();
  for (const auto& [kind, count] : tally.hidden) hidden.push_back({{"kind", kind}, {"vehicles", count}});
  return {{"vehicles", tally.vehicles},
          {"readings", tally.readings},
          {"advised", tally.advised},
          {"calibration_error", tally.claims.calibration_error()},
          {"brier", tally.claims.brier()},
          {"brier_of_base_rate", tally.claims.brier_of_base_rate()},
          {"bins", bins_json(tally.claims)},
          {"repairs", whole_json(tally.repairs)},
          {"not_drawn", whole_json(tally.beyond)},
          {"stops", whole_json(tally.stops)},
          {"by_reading", by_json(tally.by_reading)},
          {"by_suspect", by_json(tally.by_suspect)},
          {"hidden", hidden}};
}

std::string drawing_of(const Tally& tally) {
  report::ReliabilityDrawing drawing;
  const infer::Reliability& r = tally.claims;
  drawing.claims = r;
  drawing.title = "What is said, and how often it is so";
  drawing.note = std::to_string(tally.vehicles) + " virtual vehicles, " + std::to_string(r.all().claims) +
                 " claims; error " + three(r.calibration_error()) + ", Brier " + three(r.brier()) + " (base rate " +
                 three(r.brier_of_base_rate()) + ")";
  drawing.about = "Probabilities said of repairs, in twenty bins, against the share that was so. " + drawing.note + ".";
  return report::draw_reliability(drawing);
}

base::Result<base::Done> write_files(Context& context, const std::string& folder, const Tally& tally, Reply& reply) {
  const std::string base = folder + (folder.ends_with('/') ? "" : "/") + "calibration";
  const std::pair<std::string, std::string> files[] = {{base + ".svg", drawing_of(tally)},
                                                       {base + ".json", reply.result.dump(2) + "\n"}};
  for (const auto& [path, text] : files) {
    const base::Result<base::Done> written = context.files.write(path, text);
    if (!written) return written.diagnostics();
    reply.text += "wrote " + path + "\n";
  }
  return base::Done{};
}

}  // namespace

Reply calibrate(Context& context, const CalibrationRequest& request) {
  if (!request.out.empty() && !context.files.exists(request.out))  // told before the minutes, not after
    return fail(base::make_error("bench.no-folder", "there is no folder " + request.out, "make it first"));
  Tally tally;
  for (const std::string& path : request.looms) {
    const base::Result<std::shared_ptr<BeliefEngine>> engine = context.cache.engine(context, path, request.meter);
    if (!engine) return fail(engine.diagnostics());
    for (std::size_t i = 0; i < request.count && !context.cancel.cancelled(); ++i) {
      if (context.progress != nullptr)
        context.progress->report("rehearsing " + path, static_cast<double>(i) / static_cast<double>(request.count));
      const base::Result<base::Done> done =
          rehearse_claims(context, *engine, request.seed + i, i % kPlannedOneIn == kPlannedOneIn - 1, tally);
      if (!done) return fail(done.diagnostics());
    }
  }
  Reply reply;
  reply.text = tally_text(tally);
  reply.result = tally_json(tally);
  if (!request.out.empty()) {
    const base::Result<base::Done> written = write_files(context, request.out, tally, reply);
    if (!written) return fail(written.diagnostics());
  }
  return reply;
}

}  // namespace halfsplit::app
