// SPDX-License-Identifier: Apache-2.0
// Are the percentages worth their name? A virtual vehicle is drawn from belief's own prior and complains; readings are
// taken one after the other; after each, every percentage that would be shown is held against what is hidden. Nothing
// is repaired and no minutes are counted, so that thousands of vehicles take minutes.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "app/claims.h"
#include "app/session.h"
#include "app/virtual_vehicle.h"
#include "infer/reliability.h"

namespace halfsplit::app {

struct Tally {
  infer::Reliability claims;   // of every repair and of "not on this drawing" above 1 %, after every reading
  infer::Reliability repairs;  // of these, the repairs
  infer::Reliability beyond;   // of these, "not on this drawing"
  infer::Reliability stops;    // of what led when the readings ended
  std::map<std::string, infer::Reliability> by_suspect;  // by kind of suspected fault; right: exactly this is hidden
  std::map<std::string, infer::Reliability> by_reading;  // `claims` by kind of the last reading
  std::map<std::string, std::size_t> hidden;             // vehicles by kind of what was hidden
  std::size_t vehicles = 0, readings = 0, advised = 0;   // advised: vehicles on which the planner chose the readings
};

// Does a complaint hold anything that a vehicle in order would hardly show? A word with less than one chance in twenty,
// a figure more than four sigma off.
[[nodiscard]] bool is_complaint(BeliefEngine& engine, const std::vector<evidence::Observation>& told);

// One vehicle. The readings after the complaint are one to eight, drawn from all candidates, one in seven an earlier
// one again; or the planner's until it stops testing. Errors: rehearse.no-symptom.
[[nodiscard]] base::Result<base::Done> rehearse_claims(Context& context, const std::shared_ptr<BeliefEngine>& engine,
                                                       std::uint64_t seed, bool by_planner, Tally& tally);

// Of `bench --calibration`: seeds counted up from `seed` for each loom, one vehicle in twenty by the planner.
struct CalibrationRequest {
  std::vector<std::string> looms;
  std::size_t count = 100;  // vehicles per loom
  std::uint64_t seed = 1;
  meters::MeterProfile meter;
  std::string out;  // folder for calibration.svg and calibration.json; empty: none
};
[[nodiscard]] Reply calibrate(Context& context, const CalibrationRequest& request);

}  // namespace halfsplit::app
