// SPDX-License-Identifier: Apache-2.0
#include "app/recording_rounds.h"

#include <algorithm>
#include <map>

#include "app/claims.h"
#include "app/player.h"
#include "app/saw_recorded.h"
#include "app/virtual_bus.h"
#include "app/words.h"
#include "base/number.h"
#include "capture/study.h"
#include "evidence/observable_text.h"
#include "infer/reliability.h"

namespace halfsplit::app {

namespace {

constexpr double kRecorded_s = 120.0;
constexpr std::size_t kMostDrawn = 60;  // vehicles drawn for one whose recording shows trouble

struct RoundTally {
  std::size_t vehicles = 0, first = 0, in_three = 0, alike = 0;
  double probability = 0.0;  // sum, of the right repair
  std::size_t played = 0, mended = 0, wrong_parts = 0;
  double minutes = 0.0;

  void add(const RoundTally& other) {
    vehicles += other.vehicles;
    first += other.first;
    in_three += other.in_three;
    alike += other.alike;
    probability += other.probability;
    played += other.played;
    mended += other.mended;
    wrong_parts += other.wrong_parts;
    minutes += other.minutes;
  }
};

// Repairs by what is believed of them, most first.
std::vector<std::pair<double, std::vector<fault::RepairId>>> ranked_repairs(BeliefEngine& engine,
                                                                            const Belief& belief) {
  std::map<std::vector<fault::RepairId>, double> sums;
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    if (!infer::faults_of(suspect.faults).empty()) sums[engine.repairs_of(belief, suspect)] += suspect.probability;
  }
  std::vector<std::pair<double, std::vector<fault::RepairId>>> ranked;
  for (const auto& [repairs, sum] : sums) ranked.emplace_back(sum, repairs);
  std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  return ranked;
}

class Rounds {
 public:
  Rounds(Context& context, const std::shared_ptr<BeliefEngine>& engine, const RecordingOptions& options)
      : context_(context), engine_(engine), options_(options) {}

  // What each vehicle came to.
  [[nodiscard]] const Json& each() const { return each_; }

  void run(const evidence::Observable& tap, std::map<std::string, RoundTally>& kinds, infer::Reliability& claims) {
    for (std::size_t i = 0, tries = 0; i < options_.count && tries < kMostDrawn * options_.count; ++tries) {
      if (context_.cancel.cancelled()) return;
      const std::uint64_t seed = options_.seed + tries;
      base::Result<VirtualVehicle> vehicle =
          VirtualVehicle::make(engine_->loom(), {seed, "", -1.0, 0.0, engine_->meter()});
      if (!vehicle) continue;
      const RecordedFrom from = record_virtual(engine_->loom(), *vehicle, tap, kRecorded_s, seed);
      if (!shows_trouble(from.recorded)) continue;
      ++i;
      if (context_.progress != nullptr)
        context_.progress->report("recordings", static_cast<double>(i) / static_cast<double>(options_.count));
      RoundTally& tally = kinds[vehicle->kind()];
      each_.push_back(
          {{"seed", seed}, {"fault", vehicle->name()}, {"recorded", recorded_shows(engine_->loom(), from.recorded)}});
      weigh(*vehicle, tap, from.recorded, tally, claims);
      if (options_.play) play(std::move(vehicle).value(), from.recorded, tally);
    }
  }

 private:
  void weigh(const VirtualVehicle& vehicle, const evidence::Observable& tap, const RecordedBus& recorded,
             RoundTally& tally, infer::Reliability& claims) {
    std::vector<Evidence> evidence;
    for (const evidence::Observation& one : readings_of(recorded)) {
      Evidence e;
      e.entry = static_cast<int>(evidence.size()) + 1;
      e.what = evidence::format_observable(engine_->loom().loom, engine_->loom().netlist, one.what);
      e.shows = typed(one.what, one.seen);
      e.observation = one;
      e.observation.what.configuration = tap.configuration;
      evidence.push_back(std::move(e));
    }
    const Belief& belief = engine_->update(evidence, context_.cancel);
    const auto ranked = ranked_repairs(*engine_, belief);
    ++tally.vehicles;
    double top = 0.0;
    Json& likeliest = each_.back()["likeliest"];
    for (const std::size_t s : belief.ranked) {
      const infer::Suspect& suspect = belief.posterior.suspects[s];
      likeliest.push_back({{"suspect", engine_->suspect_name(suspect)}, {"probability", suspect.probability}});
      if (likeliest.size() == 4) break;
    }
    for (std::size_t i = 0; i < ranked.size(); ++i) {
      const bool right = vehicle.whole(ranked[i].second);
      if (i == 0) top = ranked[i].first;
      if (ranked[i].first > 0.01) claims.add(std::min(1.0, ranked[i].first), right);
      if (!right || each_.back().contains("rank")) continue;  // more than what is hidden mends it as well
      tally.first += i == 0 ? 1 : 0;
      tally.in_three += i < 3 ? 1 : 0;
      tally.alike += ranked[i].first > 0.2 * top ? 1 : 0;
      tally.probability += ranked[i].first;
      each_.back()["rank"] = i + 1;
    }
  }

  void play(VirtualVehicle vehicle, const RecordedBus& recorded, RoundTally& tally) {
    Player player(context_, engine_, std::move(vehicle));
    player.tell_first("saw", recorded_what(engine_->loom(), recorded), recorded_shows(engine_->loom(), recorded));
    const Score score = player.play();
    ++tally.played;
    tally.mended += score.right ? 1 : 0;
    tally.wrong_parts += static_cast<std::size_t>(score.wrong_parts);
    tally.minutes += score.minutes + kRecordingMinutes;
  }

  Context& context_;
  std::shared_ptr<BeliefEngine> engine_;
  const RecordingOptions& options_;
  Json each_ = Json::array();
};

std::string share_text(std::size_t part, std::size_t whole) {
  return whole == 0 ? "-" : percent(static_cast<double>(part) / static_cast<double>(whole));
}

std::string row_text(const std::string& name, const RoundTally& t) {
  std::string text = padded(name, 22) + padded(std::to_string(t.vehicles), 10) +
                     padded(share_text(t.first, t.vehicles), 8) + padded(share_text(t.in_three, t.vehicles), 10) +
                     padded(share_text(t.alike, t.vehicles), 10);
  text += t.vehicles == 0 ? "-" : percent(t.probability / static_cast<double>(t.vehicles));
  if (t.played > 0)
    text += "   " + share_text(t.mended, t.played) + " mended, " + std::to_string(t.wrong_parts) + " wrong parts, " +
            minutes_text(t.minutes / static_cast<double>(t.played));
  return text + "\n";
}

Json row_json(const std::string& name, const RoundTally& t) {
  Json json{{"kind", name},           {"vehicles", t.vehicles}, {"first", t.first},
            {"in_three", t.in_three}, {"alike", t.alike},       {"probability_sum", t.probability}};
  if (t.played > 0) {
    json["played"] = t.played;
    json["mended"] = t.mended;
    json["wrong_parts"] = t.wrong_parts;
    json["minutes_sum"] = t.minutes;
  }
  return json;
}

}  // namespace

std::optional<evidence::Observable> reader_tap(const circuit::Loom& loom) {
  for (std::size_t b = 0; b < loom.buses.size(); ++b)
    if (loom.buses[b].reader_high) {
      evidence::Observable tap;
      tap.bus = circuit::BusId(b);
      tap.configuration = candidates::at_work(loom);
      return tap;
    }
  return std::nullopt;
}

bool shows_trouble(const RecordedBus& recorded) {
  return !recorded.never.empty() || !recorded.quiet.empty() || !recorded.codes.empty() ||
         std::any_of(recorded.answered.begin(), recorded.answered.end(), [](const Answered& a) { return !a.answers; });
}

RecordedFrom record_virtual(const LoadedLoom& loom, const VirtualVehicle& vehicle, const evidence::Observable& tap,
                            double seconds, std::uint64_t seed) {
  return study_tapped(loom, tap_bus(vehicle, {tap, seconds, seed}, {}), tap, "");
}

RecordedFrom study_tapped(const LoadedLoom& loom, const TappedBus& tapped, const evidence::Observable& tap,
                          const std::string& file) {
  capture::Study study;
  study.take(tapped.frames);
  return recorded_from(loom, tap, study.findings(), {}, expected_on(loom, tap.bus), file);
}

Reply measure_recordings(Context& context, const RecordingOptions& options) {
  std::map<std::string, RoundTally> kinds;
  infer::Reliability claims;
  Json each = Json::array();
  for (const std::string& path : options.looms) {
    const base::Result<std::shared_ptr<BeliefEngine>> engine = context.cache.engine(context, path, options.meter);
    if (!engine) return fail(engine.diagnostics());
    const std::optional<evidence::Observable> tap = reader_tap((*engine)->loom().loom);
    if (!tap)
      return fail(base::make_error("bench.no-tap", path + " draws no reader on a bus: nowhere to record",
                                   "give a loom whose bus has `reader`"));
    Rounds rounds(context, *engine, options);
    rounds.run(*tap, kinds, claims);
    each.push_back({{"loom", path}, {"vehicles", rounds.each()}});
  }
  RoundTally all;
  Json rows = Json::array();
  Reply reply;
  reply.text = padded("fault kind", 22) + padded("vehicles", 10) + padded("first", 8) + padded("in three", 10) +
               padded("alike", 10) + "said of it\n";
  for (const auto& [kind, tally] : kinds) {
    all.add(tally);
    rows.push_back(row_json(kind, tally));
    reply.text += row_text(kind, tally);
  }
  reply.text +=
      row_text("all", all) +
      "Right repair, from the recording alone: thought likeliest; among the three likeliest; thought at least\n"
      "a fifth as likely as the likeliest (what a recording cannot part stays together).\n" +
      "calibration error " + base::format_significant(claims.calibration_error(), 3) + " over " +
      std::to_string(claims.all().claims) + " claims\n";
  reply.result = {{"kinds", rows},
                  {"all", row_json("all", all)},
                  {"each", each},
                  {"calibration_error", claims.calibration_error()}};
  return reply;
}

}  // namespace halfsplit::app
