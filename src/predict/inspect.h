// SPDX-License-Identifier: Apache-2.0
// Looking at a contact, a lug, a stud or a splice with one's own eyes: green, burnt, wet, pushed back, loose in the
// hand; or following the run of a wire: rubbed, pinched, melted, stretched. Most that is corroded or chafed shows, some
// that comes and goes does, and old plugs and looms are marked everywhere. Chances are ours, by judgement
// (docs/formats/loom.md, "What readers, gauges and eyes show").
#pragma once

#include <vector>

#include "evidence/observable.h"
#include "fault/fault.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// Chance that something is marked there, with these faults present. `observable`: of kind inspect.
[[nodiscard]] double chance_to_be_marked(const Scene& scene, const evidence::Observable& observable,
                                         const std::vector<fault::FaultId>& faults);

}  // namespace halfsplit::predict
