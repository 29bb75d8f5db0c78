// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus shows of a fault (docs/formats/loom.md, section 9): who is in it, who goes quiet together,
// who answers whom. A recording spans many moments: of a fault that comes and goes it has, as a rule, both kinds.
#pragma once

#include <vector>

#include "evidence/observable.h"
#include "evidence/prediction.h"
#include "fault/fault.h"
#include "predict/bus_picture.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// Where it was recorded.
[[nodiscard]] BusTap tap_of(const Scene& scene, const evidence::Observable& observable);

// Weight of the moment in which a fault that comes and goes shows, in what is told of a recording (ours): never heard
// only when it showed throughout; quiet for a while only when it showed and went.
[[nodiscard]] double share_shown(evidence::Kind kind);

// Chance of each word, by index into evidence::categories(). `faults`: what is in the circuit, whether it shows at this
// moment or not.
struct RecordedChances {
  double first = 0.0, second = 0.0, third = 0.0;
};
[[nodiscard]] RecordedChances recorded_chances(const Scene& scene, CircuitView& view,
                                               const evidence::Observable& observable,
                                               const std::vector<fault::FaultId>& faults);

}  // namespace halfsplit::predict
