// SPDX-License-Identifier: Apache-2.0
// What belief claims of repairs, to be held against the truth.
#pragma once

#include <vector>

#include "app/belief.h"

namespace halfsplit::app {

constexpr double kLeastClaimed = 0.01;  // what is thought less likely is not said

// What was believed at one moment, and whether it was so.
struct Claim {
  double probability = 0.0;
  bool right = false;
};

// By RepairId: the chance that this repair is needed, alone or with others.
[[nodiscard]] std::vector<double> repair_chances(BeliefEngine& engine, const Belief& belief);

}  // namespace halfsplit::app
