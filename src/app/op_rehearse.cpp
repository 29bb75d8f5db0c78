// SPDX-License-Identifier: Apache-2.0
// Practice on virtual vehicles with hidden faults: the program plays, scored in minutes. And the benches made of it: is
// the belief calibrated, and how often is the right thing mended?
#include <algorithm>
#include <map>

#include "app/calibration.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/player.h"
#include "app/quality.h"
#include "app/recording_rounds.h"
#include "app/told_tap.h"
#include "app/words.h"
#include "base/number.h"
#include "capture/write_recording.h"
#include "report/reliability_svg.h"

namespace halfsplit::app {

namespace {

Json score_json(const Score& s) {
  return {{"fault", s.fault},
          {"right", s.right},
          {"gave_up", s.gave_up},
          {"tests", s.tests},
          {"repairs", s.repairs},
          {"wrong_parts", s.wrong_parts},
          {"minutes", s.minutes},
          {"minutes_with_parts", s.paid_minutes},
          {"expected_minutes", s.expected_minutes},
          {"bound_minutes", s.bound_minutes},
          {"exact", s.exact}};
}

// What it took beside what was expected at the start and what no plan undercuts; of several vehicles, of the means.
std::string against_plan(double took, double expected, double bound, bool exact) {
  const std::string least = exact ? ", the best possible plan" : "; no plan below " + minutes_text(bound);
  return "Parts paid: " + minutes_text(took) + " (at the start " + minutes_text(expected) + " expected" + least + ")\n";
}

// What a tap records before the first test: where it is told, else at the drawn reader.
base::Result<RecordedFrom> record_first(Context& context, const LoadedLoom& loom, const VirtualVehicle& vehicle,
                                        const Arguments& arguments, std::uint64_t seed, Reply& reply) {
  const base::Result<double> seconds = number_option(arguments, "seconds", 120.0, 1.0, 3600.0);
  if (!seconds) return seconds.diagnostics();
  const base::Result<evidence::Observable> tap = told_tap(loom, arguments.get("on"), arguments.get("at"));
  if (!tap) return tap.diagnostics();
  evidence::Observable at_work = *tap;
  at_work.configuration = candidates::at_work(loom.loom);
  const std::string path = arguments.get("record");
  const TappedBus tapped = tap_bus(vehicle, {at_work, *seconds, seed}, {});
  if (!path.empty()) {
    const std::vector<std::string> channels{"can0"};
    std::string bytes;
    if (path.ends_with(".pcapng")) {
      capture::append_pcapng_head(bytes, channels);
      capture::append_pcapng(bytes, tapped.frames, channels);
    } else {
      capture::append_candump(bytes, tapped.frames, channels);
    }
    const base::Result<base::Done> written = context.files.write(path, bytes);
    if (!written) return written.diagnostics();
    reply.text += "wrote " + path + ": " + std::to_string(tapped.frames.size()) + " frames of an invented vehicle\n";
  }
  return study_tapped(loom, tapped, at_work, path);
}

// Which bench is wanted, and whether what goes with it is told with it.
base::Result<base::Done> flags_together(const Arguments& arguments) {
  std::string bench;
  for (const char* one : {"calibration", "quality", "recordings"}) {
    if (!arguments.has(one)) continue;
    if (!bench.empty())
      return base::make_error("args.conflict", "--" + bench + " and --" + one + " are two benches",
                              "run one after the other");
    bench = one;
  }
  for (const auto& [flag, of] : {std::pair{"alone", "quality"}, std::pair{"play", "recordings"}})
    if (arguments.has(flag) && bench != of)
      return base::make_error("args.conflict", std::string("--") + flag + " goes with --" + of,
                              std::string("add --") + of + " or leave --" + flag + " out");
  return base::Done{};
}

struct KindTally {
  std::size_t runs = 0, right = 0, wrong_parts = 0;
  double minutes = 0.0;
};

}  // namespace

// Thousands of rehearsals over the looms given.
Reply op_bench(Context& context, const Arguments& arguments) {
  if (const base::Result<base::Done> together = flags_together(arguments); !together) {
    Reply reply = fail(together.diagnostics());
    reply.exit_code = 2;
    return reply;
  }
  const base::Result<double> seed = number_option(arguments, "seed", 1.0, 0.0, 1e15);
  const base::Result<double> count = number_option(arguments, "count", 100.0, 1.0, 1e6);
  for (const base::Result<double>* r : {&seed, &count})
    if (!*r) return fail(r->diagnostics());
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) return fail(meter.diagnostics());
  const std::vector<std::string> looms = arguments.all("loom");
  if (arguments.has("recordings"))
    return measure_recordings(context, {looms, static_cast<std::size_t>(*count), static_cast<std::uint64_t>(*seed),
                                        or_common(meter->meter), arguments.has("play")});
  if (arguments.has("quality"))
    return measure_quality(context, {looms, static_cast<std::size_t>(*count), static_cast<std::uint64_t>(*seed),
                                     or_common(meter->meter), arguments.get("out"), arguments.has("alone")});
  if (arguments.has("calibration"))
    return calibrate(context, {looms, static_cast<std::size_t>(*count), static_cast<std::uint64_t>(*seed),
                               or_common(meter->meter), arguments.get("out")});
  infer::Reliability claims;
  infer::Reliability stops;
  std::map<std::string, KindTally> kinds;
  KindTally all;
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
      for (const Claim& claim : player.claims()) claims.add(claim.probability, claim.right);
      for (const Claim& claim : player.stops()) stops.add(claim.probability, claim.right);
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
  for (const infer::Reliability::Bin& bin : claims.bins()) {
    if (bin.claims == 0) continue;
    bins.push_back({{"said", bin.mean_said()}, {"true", bin.share_right()}, {"claims", bin.claims}});
    reply.text += padded(percent(bin.mean_said()), 10) + padded(percent(bin.share_right()), 10) +
                  std::to_string(bin.claims) + "\n";
  }
  reply.text += "calibration error " + base::format_significant(claims.calibration_error(), 3) + ", Brier " +
                base::format_significant(claims.brier(), 3) +
                "; when testing stopped: " + base::format_significant(stops.calibration_error(), 3) + " over " +
                std::to_string(stops.all().claims) + " stops\n";
  reply.result = {{"kinds", rows},
                  {"vehicles", all.runs},
                  {"mended", all.right},
                  {"wrong_parts", all.wrong_parts},
                  {"calibration_error", claims.calibration_error()},
                  {"brier", claims.brier()},
                  {"stop_calibration_error", stops.calibration_error()},
                  {"bins", bins}};
  const std::string out = arguments.get("out");
  if (!out.empty()) {
    const base::Result<base::Done> written = context.files.write(
        out, report::draw_reliability({claims, "What is said of repairs, and how often it is so", "",
                                       "Probabilities said of repairs against the share that was so."}));
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
  const base::Result<double> seed = number_option(arguments, "seed", 1.0, 0.0, 1e15);
  const base::Result<double> severity = number_option(arguments, "severity", -1.0, 0.0, 1.0);
  const base::Result<double> mis_probe = number_option(arguments, "mis-probe", 0.0, 0.0, 1.0);
  const base::Result<double> count = number_option(arguments, "count", 1.0, 1.0, 1e6);
  for (const base::Result<double>* r : {&seed, &severity, &mis_probe, &count})
    if (!*r) return fail(r->diagnostics());
  Reply reply;
  Json runs = Json::array();
  std::size_t right = 0;
  std::size_t wrong_parts = 0;
  double minutes = 0.0;
  double paid = 0.0;
  double expected = 0.0;
  double bound = 0.0;
  std::size_t exact = 0;
  const std::size_t total = static_cast<std::size_t>(*count);
  for (std::size_t i = 0; i < total && !context.cancel.cancelled(); ++i) {
    VehicleOptions options{static_cast<std::uint64_t>(*seed) + i, arguments.get("fault"), *severity, *mis_probe,
                           (*engine)->meter()};
    base::Result<VirtualVehicle> vehicle = VirtualVehicle::make((*engine)->loom(), options);
    if (!vehicle) return fail(vehicle.diagnostics());
    if (context.progress != nullptr && total > 1)
      context.progress->report("rehearsing", static_cast<double>(i) / static_cast<double>(total));
    RecordedFrom from;
    const bool recorded = arguments.has("recorded") || arguments.has("record");
    if (recorded) {
      base::Result<RecordedFrom> made =
          record_first(context, (*engine)->loom(), *vehicle, arguments, options.seed, reply);
      if (!made) return fail(made.diagnostics());
      from = std::move(made).value();
    }
    Player player(context, *engine, std::move(vehicle).value());
    if (recorded && shows_trouble(from.recorded))
      player.tell_first("saw", recorded_what((*engine)->loom(), from.recorded),
                        recorded_shows((*engine)->loom(), from.recorded));
    const Score score = player.play();
    if (total == 1) reply.text += player.story();
    reply.text += "seed " + std::to_string(options.seed) + ": " + padded(score.fault, 30) +
                  (score.right     ? " mended"
                   : score.gave_up ? " given up"
                                   : " NOT mended") +
                  ", " + std::to_string(score.tests) + (score.tests == 1 ? " test, " : " tests, ") +
                  std::to_string(score.repairs) + " repair" + (score.repairs == 1 ? "" : "s") + ", " +
                  minutes_text(score.minutes) + "\n";
    runs.push_back(score_json(score));
    right += score.right ? 1U : 0U;
    wrong_parts += static_cast<std::size_t>(score.wrong_parts);
    minutes += score.minutes;
    paid += score.paid_minutes;
    expected += score.expected_minutes;
    bound += score.bound_minutes;
    exact += score.exact ? 1U : 0U;
  }
  const double n = static_cast<double>(std::max<std::size_t>(runs.size(), 1));
  reply.result = {{"runs", runs},
                  {"right_share", static_cast<double>(right) / n},
                  {"wrong_parts", wrong_parts},
                  {"mean_minutes", minutes / n},
                  {"mean_minutes_with_parts", paid / n},
                  {"mean_expected_minutes", expected / n},
                  {"mean_bound_minutes", bound / n},
                  {"exact", exact}};
  if (total > 1)
    reply.text += std::to_string(right) + " of " + std::to_string(runs.size()) + " mended, " +
                  std::to_string(wrong_parts) + " wrong parts, " + minutes_text(minutes / n) + " on average\n";
  if (!runs.empty()) reply.text += against_plan(paid / n, expected / n, bound / n, exact == runs.size());
  return reply;
}

}  // namespace halfsplit::app
