// SPDX-License-Identifier: Apache-2.0
// Moving, warming and cooling an item while the symptom is watched: contacts, joints and wires that come and go answer
// to movement, what comes and goes inside parts and modules answers to heat and cold. Chances are ours, by judgement
// (docs/formats/loom.md, "What readers, gauges and eyes show").
#pragma once

#include <vector>

#include "evidence/observable.h"
#include "fault/fault.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// Does the fault sit on the item that is moved, warmed or cooled?
[[nodiscard]] bool sits_at(const Scene& scene, const evidence::Observable& observable, const fault::Fault& fault);
// Chance that the symptom changes, with these faults present.
[[nodiscard]] double chance_to_provoke(const Scene& scene, const evidence::Observable& observable,
                                       const std::vector<fault::FaultId>& faults);

}  // namespace halfsplit::predict
