// SPDX-License-Identifier: Apache-2.0
// How good is the choice of what to do next? The same virtual vehicles are played by the program and by other rules
// (rules.h), and what each needed is added up: mended, parts fitted in vain, minutes; for the program also by kind of
// fault, and against what its plan expected at the start and against what no plan could undercut.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "app/player.h"

namespace halfsplit::app {

struct Rule {
  std::string_view name;
  Chooser strategy;  // none: the program, and who knows the fault of the vehicle at hand
};
// The program first, then those it is measured against.
inline constexpr std::size_t kRules = 6;
inline constexpr std::size_t kHalfSplit = 1, kByLikelihood = 2, kCodesFirst = 3, kMostBits = 4, kKnowing = 5;
[[nodiscard]] const std::array<Rule, kRules>& rules();

// What a vehicle that is not mended still costs somebody: what planning takes looking beyond the drawing to cost.
inline constexpr double kUnmendedMinutes = 60.0;

// What one rule needed over many vehicles.
struct Played {
  std::size_t vehicles = 0, mended = 0, first_right = 0, gave_up = 0, wrong_parts = 0, tests = 0;
  std::vector<double> minutes;    // of each vehicle, kUnmendedMinutes added where it is not mended
  Spent spent;                    // sum
  double paid_minutes = 0.0;      // sum; with parts bought as minutes of pay
  double unmended_minutes = 0.0;  // of `minutes`, what was added

  void add(const Score& score);
  void add(const Played& other);
  [[nodiscard]] double share_mended() const { return per_vehicle(static_cast<double>(mended)); }
  [[nodiscard]] double wrong_per_vehicle() const { return per_vehicle(static_cast<double>(wrong_parts)); }
  [[nodiscard]] double per_vehicle(double sum) const {
    return vehicles == 0 ? 0.0 : sum / static_cast<double>(vehicles);
  }
  [[nodiscard]] double mean_minutes() const;
  [[nodiscard]] double mean_paid() const { return per_vehicle(paid_minutes); }
  [[nodiscard]] double median_minutes() const;  // of an even number the mean of the middle two; 0 of none
};

// What the program's plans said at the start. Minutes with parts paid.
struct Starts {
  std::size_t vehicles = 0, exact = 0;
  double expected = 0.0, bound = 0.0, took = 0.0;  // sums
  double gap = 0.0;                                // sum of expected / bound - 1

  void add(const Score& score);
  void add(const Starts& other);
};

// One job of the program's: `rehearse` with this seed plays it again.
struct PlayedJob {
  std::uint64_t seed = 0;
  Score score;
  std::vector<double> minutes_by_rule;  // in the order of rules(), of those that played; nothing added
};

struct Quality {
  std::array<Played, kRules> by_rule;   // no vehicles: that rule did not play
  std::map<std::string, Played> kinds;  // of the program, by kind of fault
  Starts starts;
  std::vector<PlayedJob> jobs;  // of one loom; not added up

  void add(const Quality& other);
};

// The weakest kinds, worst first: most left unmended or parts in vain per vehicle, then the longest. Of those with at
// least `least` vehicles.
[[nodiscard]] std::vector<std::string> weakest_kinds(const Quality& quality, std::size_t least, std::size_t most);

// One vehicle of a loom, played by every rule, or by the program alone. Nothing is added when it was cancelled in
// between. Errors: rehearse.no-symptom.
[[nodiscard]] base::Result<base::Done> play_all(Context& context, const std::shared_ptr<BeliefEngine>& engine,
                                                std::uint64_t seed, Quality& quality, bool alone = false);

// Of `bench --quality`: seeds counted up from `seed` for each loom.
struct QualityRequest {
  std::vector<std::string> looms;
  std::size_t count = 100;  // vehicles per loom
  std::uint64_t seed = 1;
  meters::MeterProfile meter;
  std::string out;     // folder for quality.md and quality.json; empty: none
  bool alone = false;  // the program, and no other rule
};
[[nodiscard]] Reply measure_quality(Context& context, const QualityRequest& request);

}  // namespace halfsplit::app
