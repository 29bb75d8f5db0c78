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
};

// Is the supply on at these points: volts between them, or at one of them against the battery's minus? Across a closed
// switch there are none between them, and all of the battery behind whatever opens.
[[nodiscard]] bool is_live(const GenerateInput& input, const circuit::Configuration& configuration,
                           circuit::PointId red, circuit::PointId black);

[[nodiscard]] std::vector<Candidate> generate(const GenerateInput& input);

// Why a test must not be done in its configuration; empty: it may.
[[nodiscard]] std::string refusal(const GenerateInput& input, const evidence::Observable& what);

// What a test needs done and how long it takes in itself.
[[nodiscard]] Candidate make_candidate(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                       const evidence::Observable& what);

// Configurations: the vehicle at work with nothing apart; and without any supply setups.
[[nodiscard]] circuit::Configuration at_work(const circuit::Loom& loom);

}  // namespace halfsplit::candidates
