// SPDX-License-Identifier: Apache-2.0
// Where parts' tolerances may have a state stand the other way: which states, with what chance (docs/formats/loom.md,
// section 7, "Near a threshold"). First order: a state's quantity is taken as normal about what it is in the circuit at
// hand, with the state as it stands before it moves.
#pragma once

#include "predict/circuit_view.h"

namespace halfsplit::predict {

// With `changes` in the bench; they are in it again afterwards.
[[nodiscard]] Ways find_ways(electrical::FaultBench& bench, const std::vector<fault::Change>& changes,
                             const electrical::Tolerances& tolerance);

}  // namespace halfsplit::predict
