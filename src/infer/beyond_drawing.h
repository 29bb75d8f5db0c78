// SPDX-License-Identifier: Apache-2.0
// "Not on this drawing" over all readings of one vehicle. What lies outside disturbs few of the drawing's readings or
// many, but it is one thing: a vehicle where most read as if in order goes on so. The share that is disturbed is drawn
// once, from a few values; weighed reading by reading with an even chance each, a long row of healthy readings would
// count against it as if it had to meddle with every other one.
//
// The values are ours, by judgement.
#pragma once

#include <span>
#include <vector>

#include "evidence/prediction.h"
#include "infer/noise.h"

namespace halfsplit::infer {

struct BeyondDrawing {
  std::vector<double> log_likelihoods;  // of each reading given those before it
  double healthy = 0.5;                 // share of further readings that look healthy, after all of them
};

// `healthy`: what the drawn circuit shows without a fault, by reading (empty cells: not known).
[[nodiscard]] BeyondDrawing weigh_beyond_drawing(std::span<const evidence::Prediction* const> healthy,
                                                 std::span<const Reading> readings, const Noise& noise);

}  // namespace halfsplit::infer
