// SPDX-License-Identifier: Apache-2.0
// Every test worth considering from here: meters at reachable points, with plugs apart or together, supply on or off;
// stand-ins from the technician's own roll, bypass leads, known-good swaps, wiggles, heat and cold, codes and live
// values read again. What could hurt is not offered, and says why when asked. No probabilities here but a weight per
// fault, used to leave aside what has nothing to do with the job.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "candidates/state.h"
#include "evidence/observable.h"
#include "fault/fault.h"

namespace halfsplit::candidates {

struct Candidate {
  evidence::Observable what;  // with the electrical configuration it is taken in
  std::vector<Act> needs;     // all that must be done before it: access and configuration
  double minutes = 0.0;       // reach and reading, acts aside
  bool long_lead = false;
  std::optional<evidence::Seen> before;  // read already, in the same state: a second look
};

struct Roll {
  std::vector<double> resistors_ohm;
  bool meter = true, test_lamp = true, clamp = true, long_lead = true, reader = true;
  bool heat_gun = true, cold_spray = true, scope = true;
};

// Of a lead or resistor that is fitted, with nothing wrong.
struct FittedLoad {
  double amperes = 0.0;
  double watts = 0.0;                          // in the resistor itself
  std::vector<circuit::ElementId> overloaded;  // fuses and drivers that stay on without it
};

struct GenerateInput {
  const circuit::Loom& loom;
  const circuit::Netlist& netlist;
  const fault::Universe& universe;
  const Roll& roll;
  circuit::Configuration now;
  std::vector<double> fault_weight;            // by FaultId: how probable; small ones are not followed up
  std::vector<evidence::Observable> already;   // taken, in their configurations: not offered again
  std::vector<evidence::Observation> again;    // of these, with the newest reading: worth a second look
  std::vector<evidence::Observable> symptoms;  // what showed the trouble: worth watching again after an act
  // Without a black point: against the battery's minus.
  std::function<double(const circuit::Configuration&, circuit::PointId, circuit::PointId)> healthy_volts;
  double live_v = 0.05;  // the meter's: with more than this at the probes ohms are refused
  // What a lead or resistor fitted in that state carries with nothing wrong, and what it takes off.
  std::function<FittedLoad(const circuit::Configuration&, const circuit::Fitted&)> fitted_load = {};
};

// Is the supply on at these points: volts between them, or at one of them against the battery's minus? Across a closed
// switch there are none between them, and all of the battery behind whatever opens.
[[nodiscard]] bool is_live(const GenerateInput& input, const circuit::Configuration& configuration,
                           circuit::PointId red, circuit::PointId black);

[[nodiscard]] std::vector<Candidate> generate(const GenerateInput& input);

// Why a test must not be done in its configuration; empty: it may.
[[nodiscard]] std::string refusal(const GenerateInput& input, const evidence::Observable& what);

// Why this program proposes no such test: it is refused, or it sends hands to an airbag circuit. Who measured volts
// there by the maker's procedure may enter them.
[[nodiscard]] std::string why_not_proposed(const GenerateInput& input, const evidence::Observable& what);

// Why this must not be fitted in that state; empty: it may.
[[nodiscard]] std::string refusal_to_fit(const GenerateInput& input, const circuit::Configuration& state,
                                         const circuit::Fitted& fitted);
// The most a resistor takes in that state and at work, with nothing wrong; 0 where nobody can say.
[[nodiscard]] double most_watts(const GenerateInput& input, const circuit::Configuration& state,
                                const circuit::Fitted& fitted);
constexpr double kSmallResistor_w = 0.25;  // of a roll
// Can current through these two points come to something of this hazard? Along all that may conduct in that state, not
// beyond the frames and the battery's posts: there it has gone home.
[[nodiscard]] bool within_reach(const GenerateInput& input, const circuit::Configuration& state, circuit::PointId a,
                                circuit::PointId b, circuit::Hazard hazard);

// A live test at what carries dangerous goods: the zone is released first. `generate` adds minutes for that.
[[nodiscard]] bool needs_release(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                 const evidence::Observable& what);

// What a test needs done and how long it takes in itself.
[[nodiscard]] Candidate make_candidate(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                       const evidence::Observable& what);

// Configurations: the vehicle at work with nothing apart; and without any supply setups.
[[nodiscard]] circuit::Configuration at_work(const circuit::Loom& loom);

}  // namespace halfsplit::candidates
