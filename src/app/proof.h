// SPDX-License-Identifier: Apache-2.0
// The proof of a repair: what the vehicle should show now, against what it then shows.
#pragma once

#include <string>
#include <vector>

#include "app/session.h"

namespace halfsplit::app {

struct ProofRow {
  evidence::Observable what;
  std::string words;               // "code SPN 175 FMI 3"
  std::string before;              // seen before the repair, newest
  evidence::Prediction predicted;  // with nothing wrong, in the state it is to be read in
  std::string after;               // seen after the repair, newest; empty: not yet
  bool fits = false;               // after agrees with predicted
  bool symptom = false;            // it showed the trouble before the repair: must be seen again
};

struct Proof {
  std::vector<ProofRow> rows;
  bool repaired = false;      // a repair has been entered
  bool complete = false;      // every symptom seen again and fitting; without any: something seen, and all of it fits
  bool looked = false;        // some symptom was seen again; without any: something was
  bool again = false;         // all fits, but a fault that comes and goes could have hidden: look again, and wiggle
  bool contradicted = false;  // something seen after does not fit a healthy vehicle
  double fixed = 0.0;         // chance that all that was wrong is mended
};

[[nodiscard]] Proof make_proof(Context& context, Session& session);

}  // namespace halfsplit::app
