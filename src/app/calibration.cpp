// SPDX-License-Identifier: Apache-2.0
// Which reading is taken depends on what was seen before and on the seed, never on what is hidden: only so is belief
// after it held to account fairly. The same holds for who calls (is_complaint).
#include "app/calibration.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "app/player.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using evidence::Kind;
using evidence::Observable;

constexpr std::size_t kMostReadings = 8;
constexpr int kMostAdvised = 15;
constexpr double kLookAgain = 1.0 / 7.0;
constexpr double kHardly = 0.05;  // chance in a vehicle in order
constexpr double kFarOff = 4.0;   // sigma
constexpr std::uint64_t kPolicySeed = 0x5EEDULL;

bool is_odd(const evidence::Prediction& healthy, const Observable& what, const evidence::Seen& seen) {
  if (healthy.components.empty()) return false;
  const evidence::Component& c = healthy.components.front();
  if (!evidence::is_numeric(what.kind))
    return static_cast<double>(c.category[static_cast<std::size_t>(seen.category)]) < kHardly;
  if (c.over_range || seen.over_range) return c.over_range != seen.over_range;
  return std::fabs(seen.value - c.mean) > kFarOff * c.sigma;
}

class Rehearsal {
 public:
  Rehearsal(Context& context, const std::shared_ptr<BeliefEngine>& engine, VirtualVehicle vehicle, std::uint64_t seed,
            Tally& tally)
      : context_(context), vehicle_(std::move(vehicle)), rng_(seed ^ kPolicySeed), tally_(tally) {
    session_.engine = engine;
    session_.path = "(calibration)";
    session_.state = candidates::at_work(session_.drawing());
  }

  void run(bool by_planner) {
    ++tally_.vehicles;
    ++tally_.hidden[vehicle_.kind()];
    for (const evidence::Observation& told : vehicle_.complaint()) enter(told.what, told.seen);
    note("complaint");
    by_planner ? run_planned() : run_drawn();
  }

 private:
  void enter(const Observable& what, const evidence::Seen& seen) {
    Evidence e;
    e.entry = static_cast<int>(session_.evidence.size()) + 1;
    e.what = evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
    e.shows = typed(what, seen);
    e.observation = {what, seen};
    session_.evidence.push_back(std::move(e));
  }

  void read(const Observable& what) {
    ++tally_.readings;
    enter(what, vehicle_.see(what, {}));
    note(std::string(evidence::kind_word(what.kind)));
  }

  void run_planned() {
    ++tally_.advised;
    for (int i = 0; i < kMostAdvised && !context_.cancel.cancelled(); ++i) {
      const Advice advice = advise(context_, session_);
      if (advice.kind != Advice::Kind::kTest) {
        if (!advice.repairs.empty()) tally_.stops.add(advice.repair_probability, vehicle_.whole(advice.repairs));
        return;
      }
      const Observable what = *advice.test;
      session_.state = what.configuration;
      read(what);
    }
  }

  void run_drawn() {
    const std::size_t count = 1 + rng_.below(kMostReadings);
    for (std::size_t i = 0; i < count && !context_.cancel.cancelled(); ++i) {
      const std::optional<Observable> what = draw_reading();
      if (!what) break;
      read(*what);
    }
    note_stop();
  }

  std::optional<Observable> draw_reading() {
    if (rng_.chance(kLookAgain)) return session_.evidence[rng_.below(session_.evidence.size())].observation.what;
    const candidates::Roll roll = roll_of(session_.job.kit);
    const std::vector<candidates::Candidate> all = candidates::generate(generate_input(session_, roll, belief()));
    if (all.empty()) return {};
    return all[rng_.below(all.size())].what;
  }

  const Belief& belief() { return session_.engine->update(session_.evidence, context_.cancel); }

  bool is_hidden(const infer::Suspect& suspect) const {
    std::vector<fault::FaultId> hidden;
    for (const auto& [id, quantile] : vehicle_.hidden().faults) hidden.push_back(id);
    std::sort(hidden.begin(), hidden.end());
    return infer::faults_of(suspect.faults) == hidden;
  }

  std::string kind_of(const infer::Suspect& suspect) const {
    const std::vector<fault::FaultId> faults = infer::faults_of(suspect.faults);
    if (faults.empty()) return "not on this drawing";
    if (faults.size() > 1) return "pair";
    return std::string(fault::fault_kind_word(session_.loom().universe.faults[faults[0].index()].kind));
  }

  bool needs(fault::RepairId id) const {
    return std::find(vehicle_.needs().begin(), vehicle_.needs().end(), id) != vehicle_.needs().end();
  }

  void claim(const Claim& claim, infer::Reliability& own, const std::string& reading) {
    if (claim.probability <= kLeastClaimed) return;
    for (infer::Reliability* tally : {&tally_.claims, &own, &tally_.by_reading[reading]})
      tally->add(claim.probability, claim.right);
  }

  void note(const std::string& reading) {
    const Belief& now = belief();
    const std::vector<double> chances = repair_chances(*session_.engine, now);
    for (std::size_t r = 0; r < chances.size(); ++r)
      claim({chances[r], needs(fault::RepairId(r))}, tally_.repairs, reading);
    claim({now.posterior.not_drawn, !vehicle_.hidden().beyond.empty()}, tally_.beyond, reading);
    for (const infer::Suspect& suspect : now.posterior.suspects)
      if (suspect.probability > kLeastClaimed)
        tally_.by_suspect[kind_of(suspect)].add(suspect.probability, is_hidden(suspect));
  }

  // Would the repairs of what leads mend all? With everything else that these repairs would mend.
  void note_stop() {
    const Belief& now = belief();
    const infer::Suspect& first = now.posterior.suspects[now.ranked.front()];
    const std::vector<fault::RepairId> repairs = session_.engine->repairs_of(now, first);
    if (repairs.empty()) return tally_.stops.add(first.probability, !vehicle_.hidden().beyond.empty());
    double chance = 0.0;
    for (const infer::Suspect& suspect : now.posterior.suspects) {
      const std::vector<fault::RepairId> its = session_.engine->repairs_of(now, suspect);
      if (!its.empty() && std::includes(repairs.begin(), repairs.end(), its.begin(), its.end()))
        chance += suspect.probability;
    }
    tally_.stops.add(chance, vehicle_.whole(repairs));
  }

  Context& context_;
  Session session_;
  VirtualVehicle vehicle_;
  base::Rng rng_;
  Tally& tally_;
};

}  // namespace

bool is_complaint(BeliefEngine& engine, const std::vector<evidence::Observation>& told) {
  return std::any_of(told.begin(), told.end(), [&](const evidence::Observation& o) {
    return is_odd(engine.campaign().predict_one({}, o.what), o.what, o.seen);
  });
}

base::Result<base::Done> rehearse_claims(Context& context, const std::shared_ptr<BeliefEngine>& engine,
                                         std::uint64_t seed, bool by_planner, Tally& tally) {
  VehicleOptions options;
  options.seed = seed;
  options.mis_probe = engine->noise().mis_probe;
  options.misread = engine->noise().misread;
  options.meter = engine->meter();
  base::Result<VirtualVehicle> vehicle =
      VirtualVehicle::draw(engine->loom(), options, engine->shares(),
                           [&](const std::vector<evidence::Observation>& told) { return is_complaint(*engine, told); });
  if (!vehicle) return vehicle.diagnostics();
  Rehearsal(context, engine, std::move(vehicle).value(), seed, tally).run(by_planner);
  return base::Done{};
}

}  // namespace halfsplit::app
