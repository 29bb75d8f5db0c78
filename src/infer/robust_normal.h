// SPDX-License-Identifier: Apache-2.0
// The shape of one component of a prediction: a normal density with a slightly heavier tail (likelihood.h says why),
// and its average while the mean runs evenly over a stretch. Per unit of the observable; sigma above 0.
#pragma once

namespace halfsplit::infer {

// Nothing finite is given less than this, so that logarithms stay finite.
constexpr double kLeastDensity = 1e-300;

constexpr double kTailShare = 0.05;  // ours: one reading in twenty ...
constexpr double kTailWidth = 3.0;   // ... with three times the sigma

[[nodiscard]] double normal_density(double x, double mean, double sigma);
[[nodiscard]] double robust_normal(double x, double mean, double sigma);
// The mean anywhere between `from` and `to`, evenly; either order; equal: as robust_normal.
[[nodiscard]] double robust_normal_between(double x, double from, double to, double sigma);
// The largest value of either.
[[nodiscard]] double robust_normal_peak(double sigma);

}  // namespace halfsplit::infer
