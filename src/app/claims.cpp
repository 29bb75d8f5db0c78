// SPDX-License-Identifier: Apache-2.0
#include "app/claims.h"

#include <algorithm>

namespace halfsplit::app {

std::vector<double> repair_chances(BeliefEngine& engine, const Belief& belief) {
  std::vector<double> chances(engine.loom().universe.repairs.size(), 0.0);
  for (const infer::Suspect& suspect : belief.posterior.suspects)
    for (const fault::RepairId r : engine.repairs_of(belief, suspect)) chances[r.index()] += suspect.probability;
  for (double& chance : chances) chance = std::min(1.0, chance);
  return chances;
}

}  // namespace halfsplit::app
