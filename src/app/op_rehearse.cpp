// SPDX-License-Identifier: Apache-2.0
// Practice on virtual vehicles with hidden faults: the program plays, scored in minutes. And the benches made of it: is
// the belief calibrated, and how often is the right thing mended?
#include <algorithm>
#include <cmath>
#include <map>

#include "app/meter_file.h"
#include "app/ops.h"
#include "app/player.h"
#include "app/words.h"
#include "base/number.h"

namespace halfsplit::app {

namespace {

Json score_json(const Score& s) {
  return {{"fault", s.fault},    {"right", s.right},     {"gave_up", s.gave_up},
          {"tests", s.tests},    {"repairs", s.repairs}, {"wrong_parts", s.wrong_parts},
          {"minutes", s.minutes}};
}

base::Result<double> number_of(const Arguments& arguments, const std::string& name, double fallback, double low,
                               double high) {
  if (!arguments.has(name)) return fallback;
  const base::Result<base::Quantity> q = base::parse_quantity(arguments.get(name));
  if (!q) return q.diagnostics();
  if (q->over_range || q->value < low || q->value > high)
    return base::make_error("args.range",
                            name + " is a number from " + base::format_number(low) + " to " +
                                base::format_number(high) + ", not " + arguments.get(name),
                            "");
  return q->value;
}

// Predicted against actual, in twenty bins.
struct Reliability {
  static constexpr std::size_t kBins = 20;
  double sum[kBins] = {};
  std::size_t hits[kBins] = {};
  std::size_t count[kBins] = {};
  double brier = 0.0;
  std::size_t total = 0;

  void add(const Claim& claim) {
    const std::size_t bin = std::min(kBins - 1, static_cast<std::size_t>(claim.probability * kBins));
    sum[bin] += claim.probability;
    hits[bin] += claim.right ? 1U : 0U;
    ++count[bin];
    brier += (claim.probability - (claim.right ? 1.0 : 0.0)) * (claim.probability - (claim.right ? 1.0 : 0.0));
    ++total;
  }
  // Expected calibration error: the gap between said and true, averaged over all claims.
  [[nodiscard]] double error() const {
    double gap = 0.0;
    for (std::size_t b = 0; b < kBins; ++b) gap += std::abs(sum[b] - static_cast<double>(hits[b]));
    return total == 0 ? 0.0 : gap / static_cast<double>(total);
  }
};

std::string reliability_svg(const Reliability& r) {
  const auto n = [](double v) { return base::format_significant(v, 4); };
  std::string svg =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"420\" height=\"440\" font-family=\"sans-serif\" "
      "font-size=\"12\"><rect width=\"420\" height=\"440\" fill=\"white\"/>"
      "<path d=\"M50 380 H370 M50 380 V60 M50 380 L370 60\" stroke=\"gray\" fill=\"none\"/>"
      "<text x=\"50\" y=\"30\">said (across) against true (up); area: how often said</text>";
  for (std::size_t b = 0; b < Reliability::kBins; ++b) {
    if (r.count[b] == 0) continue;
    const double said = r.sum[b] / static_cast<double>(r.count[b]);
    const double truth = static_cast<double>(r.hits[b]) / static_cast<double>(r.count[b]);
    const double size = 2.0 + 2.0 * std::log10(static_cast<double>(r.count[b]) + 1.0);
    svg += "<circle cx=\"" + n(50.0 + 320.0 * said) + "\" cy=\"" + n(380.0 - 320.0 * truth) + "\" r=\"" + n(size) +
           "\" fill=\"black\"/>";
  }
  return svg + "<text x=\"50\" y=\"400\">0</text><text x=\"360\" y=\"400\">1</text></svg>\n";
}

struct KindTally {
  std::size_t runs = 0, right = 0, wrong_parts = 0;
  double minutes = 0.0;
};

}  // namespace

// Thousands of rehearsals over the looms given.
Reply op_bench(Context& context, const Arguments& arguments) {
  const base::Result<double> seed = number_of(arguments, "seed", 1.0, 0.0, 1e15);
  const base::Result<double> count = number_of(arguments, "count", 100.0, 1.0, 1e6);
  for (const base::Result<double>* r : {&seed, &count})
    if (!*r) return fail(r->diagnostics());
  Reliability claims;
  Reliability stops;
  std::map<std::string, KindTally> kinds;
  KindTally all;
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) return fail(meter.diagnostics());
  const std::vector<std::string> looms = arguments.all("loom");
  for (const std::string& path : looms) {
    const base::Result<std::shared_ptr<BeliefEngine>> engine =
        context.cache.engine(context, path, or_common(meter->meter));
    if (!engine) return fail(engine.diagnostics());
    for (std::size_t i = 0; i < static_cast<std::size_t>(*count) && !context.cancel.cancelled(); ++i) {
      if (context.progress != nullptr) context.progress->report("rehearsing " + path, static_cast<double>(i) / *count);
      base::Result<VirtualVehicle> vehicle = VirtualVehicle::make(
          (*engine)->loom(), {static_cast<std::uint64_t>(*seed) + i, "", -1.0, 0.0, (*engine)->meter()});
      if (!vehicle) return fail(vehicle.diagnostics());
      Player player(context, *engine, std::move(vehicle).value());
      const Score score = player.play();
      for (const Claim& claim : player.claims()) claims.add(claim);
      for (const Claim& claim : player.stops()) stops.add(claim);
      for (KindTally* tally : {&kinds[score.kind], &all}) {
        ++tally->runs;
        tally->right += score.right ? 1U : 0U;
        tally->wrong_parts += static_cast<std::size_t>(score.wrong_parts);
        tally->minutes += score.minutes;
      }
    }
  }
  Reply reply;
  const auto share = [](std::size_t part, std::size_t whole) {
    return whole == 0 ? 0.0 : static_cast<double>(part) / static_cast<double>(whole);
  };
  reply.text = padded("fault kind", 20) + padded("vehicles", 10) + padded("mended", 10) + padded("wrong parts", 13) +
               "minutes\n";
  Json rows = Json::array();
  for (const auto& [kind, tally] : kinds) {
    reply.text += padded(kind, 20) + padded(std::to_string(tally.runs), 10) +
                  padded(percent(share(tally.right, tally.runs)), 10) + padded(std::to_string(tally.wrong_parts), 13) +
                  base::format_significant(tally.minutes / static_cast<double>(tally.runs), 3) + "\n";
    rows.push_back({{"kind", kind},
                    {"vehicles", tally.runs},
                    {"mended", tally.right},
                    {"wrong_parts", tally.wrong_parts},
                    {"mean_minutes", tally.minutes / static_cast<double>(tally.runs)}});
  }
  reply.text += padded("all", 20) + padded(std::to_string(all.runs), 10) +
                padded(percent(share(all.right, all.runs)), 10) + padded(std::to_string(all.wrong_parts), 13) +
                base::format_significant(all.minutes / static_cast<double>(std::max<std::size_t>(all.runs, 1)), 3) +
                "\n";
  Json bins = Json::array();
  reply.text += "\nsaid      true      claims   (every repair above 1 %, at every step)\n";
  for (std::size_t b = 0; b < Reliability::kBins; ++b) {
    if (claims.count[b] == 0) continue;
    const double said = claims.sum[b] / static_cast<double>(claims.count[b]);
    const double truth = share(claims.hits[b], claims.count[b]);
    bins.push_back({{"said", said}, {"true", truth}, {"claims", claims.count[b]}});
    reply.text += padded(percent(said), 10) + padded(percent(truth), 10) + std::to_string(claims.count[b]) + "\n";
  }
  reply.text +=
      "calibration error " + base::format_significant(claims.error(), 3) + ", Brier " +
      base::format_significant(claims.brier / static_cast<double>(std::max<std::size_t>(claims.total, 1)), 3) +
      "; when testing stopped: " + base::format_significant(stops.error(), 3) + " over " + std::to_string(stops.total) +
      " stops\n";
  reply.result = {{"kinds", rows},
                  {"vehicles", all.runs},
                  {"mended", all.right},
                  {"wrong_parts", all.wrong_parts},
                  {"calibration_error", claims.error()},
                  {"brier", claims.brier / static_cast<double>(std::max<std::size_t>(claims.total, 1))},
                  {"stop_calibration_error", stops.error()},
                  {"bins", bins}};
  const std::string out = arguments.get("out");
  if (!out.empty()) {
    const base::Result<base::Done> written = context.files.write(out, reliability_svg(claims));
    if (!written) return fail(written.diagnostics());
    reply.text += "wrote " + out + "\n";
  }
  return reply;
}

Reply op_rehearse(Context& context, const Arguments& arguments) {
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) return fail(meter.diagnostics());
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, arguments.get("loom"), or_common(meter->meter));
  if (!engine) return fail(engine.diagnostics());
  const base::Result<double> seed = number_of(arguments, "seed", 1.0, 0.0, 1e15);
  const base::Result<double> severity = number_of(arguments, "severity", -1.0, 0.0, 1.0);
  const base::Result<double> mis_probe = number_of(arguments, "mis-probe", 0.0, 0.0, 1.0);
  const base::Result<double> count = number_of(arguments, "count", 1.0, 1.0, 1e6);
  for (const base::Result<double>* r : {&seed, &severity, &mis_probe, &count})
    if (!*r) return fail(r->diagnostics());
  Reply reply;
  Json runs = Json::array();
  std::size_t right = 0;
  std::size_t wrong_parts = 0;
  double minutes = 0.0;
  const std::size_t total = static_cast<std::size_t>(*count);
  for (std::size_t i = 0; i < total && !context.cancel.cancelled(); ++i) {
    VehicleOptions options{static_cast<std::uint64_t>(*seed) + i, arguments.get("fault"), *severity, *mis_probe,
                           (*engine)->meter()};
    base::Result<VirtualVehicle> vehicle = VirtualVehicle::make((*engine)->loom(), options);
    if (!vehicle) return fail(vehicle.diagnostics());
    if (context.progress != nullptr && total > 1)
      context.progress->report("rehearsing", static_cast<double>(i) / static_cast<double>(total));
    Player player(context, *engine, std::move(vehicle).value());
    const Score score = player.play();
    if (total == 1) reply.text += player.story();
    reply.text += "seed " + std::to_string(options.seed) + ": " + padded(score.fault, 30) +
                  (score.right     ? " mended"
                   : score.gave_up ? " given up"
                                   : " NOT mended") +
                  ", " + std::to_string(score.tests) + " tests, " + std::to_string(score.repairs) + " repair" +
                  (score.repairs == 1 ? "" : "s") + ", " + minutes_text(score.minutes) + "\n";
    runs.push_back(score_json(score));
    right += score.right ? 1U : 0U;
    wrong_parts += static_cast<std::size_t>(score.wrong_parts);
    minutes += score.minutes;
  }
  const double n = static_cast<double>(std::max<std::size_t>(runs.size(), 1));
  reply.result = {{"runs", runs},
                  {"right_share", static_cast<double>(right) / n},
                  {"wrong_parts", wrong_parts},
                  {"mean_minutes", minutes / n}};
  if (total > 1)
    reply.text += std::to_string(right) + " of " + std::to_string(runs.size()) + " mended, " +
                  std::to_string(wrong_parts) + " wrong parts, " + minutes_text(minutes / n) + " on average\n";
  return reply;
}

}  // namespace halfsplit::app
