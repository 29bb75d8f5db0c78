// SPDX-License-Identifier: Apache-2.0
// Two normals: Plackett ("A reduction formula for normal multivariate integrals", Biometrika 41, 1954; from memory)
// gives the derivative by the correlation; with r = sin t the integral from no correlation has no singular end. Gauss
// and Legendre's ten points on either half (abscissae and weights: Abramowitz and Stegun, table 25.4, from memory; the
// test compares with a double integral).
#include "predict/normal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace halfsplit::predict {

namespace {

constexpr std::array<double, 5> kAt = {0.1488743389816312, 0.4333953941292472, 0.6794095682990244, 0.8650633666889845,
                                       0.9739065285171717};
constexpr std::array<double, 5> kWeight = {0.2955242247147529, 0.2692667193099963, 0.2190863625159820,
                                           0.1494513491505806, 0.0666713443086881};

// Density of the two at r = sin t, times dr/dt.
double turned(double z1, double z2, double t) {
  const double cosine = std::cos(t);
  const double off = z1 * z1 - 2.0 * z1 * z2 * std::sin(t) + z2 * z2;
  return std::exp(-off / (2.0 * cosine * cosine)) / (2.0 * std::numbers::pi);
}

double density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi); }

}  // namespace

double normal_below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

double normal_above(double value, double threshold, double sigma) {
  return 0.5 * std::erfc((threshold - value) / (std::max(sigma, 1.0e-9) * std::numbers::sqrt2));
}

double both_below(double z1, double z2, double correlation) {
  const double end = std::asin(std::clamp(correlation, -1.0, 1.0));
  double sum = 0.0;
  constexpr int kPieces = 8;
  const double half = end / (2.0 * kPieces);
  for (int piece = 0; piece < kPieces; ++piece) {
    const double middle = half * (2 * piece + 1);
    for (std::size_t k = 0; k < kAt.size(); ++k)
      sum += kWeight[k] * half * (turned(z1, z2, middle - half * kAt[k]) + turned(z1, z2, middle + half * kAt[k]));
  }
  return std::clamp(normal_below(z1) * normal_below(z2) + sum, 0.0, std::min(normal_below(z1), normal_below(z2)));
}

// Mean and variance of a truncated normal (Johnson, Kotz and Balakrishnan, "Continuous Univariate Distributions", vol.
// 1, ch. 13; from memory).
Below cut_off_above(double z) {
  Below below;
  below.share = normal_below(z);
  if (below.share < 1.0e-300) return {0.0, z, 0.0};
  const double ratio = density(z) / below.share;
  below.mean = -ratio;
  below.sigma = std::sqrt(std::max(0.0, 1.0 - z * ratio - ratio * ratio));
  return below;
}

}  // namespace halfsplit::predict
