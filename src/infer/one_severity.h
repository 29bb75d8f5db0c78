// SPDX-License-Identifier: Apache-2.0
// Readings of one vehicle hang together: whatever the severity is, it is the same at all of them. A row stands for a
// stretch of severities; averaging each reading over the whole stretch, as if it were drawn anew each time, makes every
// further reading of the same quantity speak for the suspect whose stretches are shorter. Here the average is taken
// over all readings at once, and given out as what each adds to those before it.
#pragma once

#include <span>
#include <vector>

#include "infer/likelihood_table.h"
#include "infer/posterior.h"

namespace halfsplit::infer {

// Where on its stretch a row's severity then lies: mean place, from -1 to 1 (likelihood.h, Stretch); 0 where nothing
// is known.
using Leans = std::vector<double>;

struct Joined {
  Leans leans;                  // by row
  double healthy_beyond = 0.5;  // of further readings, share that look healthy if nothing drawn is wrong
};

// Rewrites the likelihoods of the rows that may hold `kWorthJoining` of belief. Row by row their sum is the
// logarithm of the joint density of all readings, the first column unchanged; of "not on this drawing" as
// beyond_drawing.h has it.
constexpr double kWorthJoining = 1e-7;
[[nodiscard]] Joined join_severities(std::span<const Row> rows, const evidence::ResponseTable& table,
                                     std::span<const Reading> readings, const Noise& noise,
                                     LikelihoodTable& likelihoods);

// The quantile of a row's severity at a place of its stretch.
[[nodiscard]] double quantile_at(std::span<const Row> rows, std::size_t row, double place);

}  // namespace halfsplit::infer
