// SPDX-License-Identifier: Apache-2.0
// Chances under normal spreads.
#pragma once

namespace halfsplit::predict {

// That a standard normal lies below z.
[[nodiscard]] double normal_below(double z);
// That a reading of `value`, give or take sigma, lies above the threshold. No sigma: 1e-9.
[[nodiscard]] double normal_above(double value, double threshold, double sigma);
// That two standard normals with that correlation lie below z1 and below z2.
[[nodiscard]] double both_below(double z1, double z2, double correlation);

// A spread cut off above: mean and sigma of what is left of a standard normal below z, and how much is left.
struct Below {
  double share = 1.0, mean = 0.0, sigma = 1.0;
};
[[nodiscard]] Below cut_off_above(double z);

}  // namespace halfsplit::predict
