// SPDX-License-Identifier: Apache-2.0
#include "predict/inspect.h"

#include <algorithm>

#include "fault/at_point.h"

namespace halfsplit::predict {

namespace {

using fault::FaultKind;

constexpr double kByChance = 0.06;
constexpr double kWireByChance = 0.08;

// Where metal is bare to the eye.
double chance_at_point(FaultKind kind) {
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

// Along a run, most of it under a cover: where it chafes the cover shows it; strands break unseen.
double chance_on_wire(const fault::Fault& fault) {
  switch (fault.kind) {
    case FaultKind::kToGround:
    case FaultKind::kToSupply:
      return 0.6;
    case FaultKind::kTouches:
      return 0.5;
    case FaultKind::kOpen:
      return 0.35;
    case FaultKind::kIntermittent:
      return fault.element.is_none() ? 0.6 : 0.25;  // touches ground now and then; breaks now and then
    case FaultKind::kHighResistance:
      return 0.25;
    default:
      return kWireByChance;
  }
}

}  // namespace

double chance_to_be_marked(const Scene& scene, const evidence::Observable& observable,
                           const std::vector<fault::FaultId>& faults) {
  const bool run = !observable.wire.is_none();
  double chance = run ? kWireByChance : kByChance;
  for (const fault::FaultId id : faults) {
    const fault::Fault& fault = scene.universe.faults.at(id.index());
    if (run && fault::sits_on_wire(scene.netlist, observable.wire, fault))
      chance = std::max(chance, chance_on_wire(fault));
    if (!run && fault::sits_at_point(scene.netlist, observable.red, fault))
      chance = std::max(chance, chance_at_point(fault.kind));
  }
  return chance;
}

}  // namespace halfsplit::predict
