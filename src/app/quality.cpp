// SPDX-License-Identifier: Apache-2.0
#include "app/quality.h"

#include <algorithm>
#include <numeric>

#include "app/rules.h"

namespace halfsplit::app {

const std::array<Rule, kRules>& rules() {
  static const std::array<Rule, kRules> all{{{"the program", {}},
                                             {"half-split by position", half_split},
                                             {"half-split by likelihood", half_split_by_likelihood},
                                             {"codes first, swapping parts", codes_first},
                                             {"most bits, setups not weighed", most_bits},
                                             {"who knows the fault", {}}}};
  return all;
}

void Played::add(const Score& score) {
  const double more = score.right ? 0.0 : kUnmendedMinutes;
  ++vehicles;
  mended += score.right ? 1U : 0U;
  first_right += score.first_right ? 1U : 0U;
  gave_up += score.gave_up ? 1U : 0U;
  wrong_parts += static_cast<std::size_t>(score.wrong_parts);
  tests += static_cast<std::size_t>(score.tests);
  minutes.push_back(score.minutes + more);
  spent.add(score.spent);
  paid_minutes += score.paid_minutes + more;
  unmended_minutes += more;
}

void Played::add(const Played& other) {
  vehicles += other.vehicles;
  mended += other.mended;
  first_right += other.first_right;
  gave_up += other.gave_up;
  wrong_parts += other.wrong_parts;
  tests += other.tests;
  minutes.insert(minutes.end(), other.minutes.begin(), other.minutes.end());
  spent.add(other.spent);
  paid_minutes += other.paid_minutes;
  unmended_minutes += other.unmended_minutes;
}

double Played::mean_minutes() const { return per_vehicle(std::accumulate(minutes.begin(), minutes.end(), 0.0)); }

double Played::median_minutes() const {
  if (minutes.empty()) return 0.0;
  std::vector<double> sorted = minutes;
  std::sort(sorted.begin(), sorted.end());
  return 0.5 * (sorted[(sorted.size() - 1) / 2] + sorted[sorted.size() / 2]);
}

void Starts::add(const Score& score) {
  ++vehicles;
  exact += score.exact ? 1U : 0U;
  expected += score.expected_minutes;
  bound += score.bound_minutes;
  took += score.paid_minutes + (score.right ? 0.0 : kUnmendedMinutes);
  if (!score.exact && score.bound_minutes > 0.0)
    gap += std::max(0.0, score.expected_minutes / score.bound_minutes - 1.0);
}

void Starts::add(const Starts& other) {
  vehicles += other.vehicles;
  exact += other.exact;
  expected += other.expected;
  bound += other.bound;
  took += other.took;
  gap += other.gap;
}

void Quality::add(const Quality& other) {
  for (std::size_t r = 0; r < kRules; ++r) by_rule[r].add(other.by_rule[r]);
  for (const auto& [kind, played] : other.kinds) kinds[kind].add(played);
  starts.add(other.starts);
}

std::vector<std::string> weakest_kinds(const Quality& quality, std::size_t least, std::size_t most) {
  std::vector<std::string> names;
  for (const auto& [kind, played] : quality.kinds)
    if (played.vehicles >= least) names.push_back(kind);
  const auto weakness = [&](const std::string& kind) {
    const Played& played = quality.kinds.at(kind);
    return std::make_pair(1.0 - played.share_mended() + played.wrong_per_vehicle(), played.mean_minutes());
  };
  std::stable_sort(names.begin(), names.end(),
                   [&](const std::string& a, const std::string& b) { return weakness(a) > weakness(b); });
  if (names.size() > most) names.resize(most);
  return names;
}

base::Result<base::Done> play_all(Context& context, const std::shared_ptr<BeliefEngine>& engine, std::uint64_t seed,
                                  Quality& quality, bool alone) {
  const base::Result<VirtualVehicle> vehicle =
      VirtualVehicle::make(engine->loom(), {seed, "", -1.0, 0.0, engine->meter()});
  if (!vehicle) return vehicle.diagnostics();
  const std::size_t playing = alone ? 1 : kRules;
  std::array<Score, kRules> scores;
  for (std::size_t r = 0; r < playing; ++r) {
    Chooser strategy = rules()[r].strategy;
    if (r == kKnowing) strategy = [&](Context& c, Session& session) { return knowing(c, session, vehicle->needs()); };
    scores[r] = Player(context, engine, *vehicle, std::move(strategy)).play();  // each on its own, as it came
  }
  if (context.cancel.cancelled()) return base::Done{};
  for (std::size_t r = 0; r < playing; ++r) quality.by_rule[r].add(scores[r]);
  quality.kinds[scores[0].kind].add(scores[0]);
  quality.starts.add(scores[0]);
  PlayedJob job{seed, scores[0], {}};
  for (std::size_t r = 0; r < playing; ++r) job.minutes_by_rule.push_back(scores[r].minutes);
  quality.jobs.push_back(std::move(job));
  return base::Done{};
}

}  // namespace halfsplit::app
