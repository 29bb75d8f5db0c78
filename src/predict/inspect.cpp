// SPDX-License-Identifier: Apache-2.0
#include "predict/inspect.h"

#include <algorithm>

#include "fault/at_point.h"

namespace halfsplit::predict {

namespace {

using fault::FaultKind;

constexpr double kByChance = 0.06;

double chance_of(FaultKind kind) {
  switch (kind) {
    case FaultKind::kWater:
      return 0.7;
    case FaultKind::kHighResistance:
      return 0.6;
    case FaultKind::kOpen:
    case FaultKind::kSwapped:
      return 0.5;
    case FaultKind::kTouches:
      return 0.4;
    case FaultKind::kIntermittent:
      return 0.35;
    default:
      return kByChance;
  }
}

}  // namespace

double chance_to_be_marked(const Scene& scene, circuit::PointId point, const std::vector<fault::FaultId>& faults) {
  double chance = kByChance;
  for (const fault::FaultId id : faults) {
    const fault::Fault& fault = scene.universe.faults.at(id.index());
    if (fault::sits_at_point(scene.netlist, point, fault)) chance = std::max(chance, chance_of(fault.kind));
  }
  return chance;
}

}  // namespace halfsplit::predict
