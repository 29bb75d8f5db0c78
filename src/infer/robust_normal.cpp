// SPDX-License-Identifier: Apache-2.0
// The average of a normal density over a stretch of means is a difference of two normal distribution functions over
// the length of the stretch; taken on the side of the tail where the difference does not cancel.
#include "infer/robust_normal.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace halfsplit::infer {

namespace {

// Chance that a standard normal lies between a and b, a <= b.
double normal_mass(double a, double b) {
  constexpr double kRootHalf = 1.0 / std::numbers::sqrt2;
  if (a > 0.0) return 0.5 * (std::erfc(a * kRootHalf) - std::erfc(b * kRootHalf));
  if (b < 0.0) return 0.5 * (std::erfc(-b * kRootHalf) - std::erfc(-a * kRootHalf));
  return 0.5 * (std::erf(b * kRootHalf) - std::erf(a * kRootHalf));
}

// Below a thousandth of sigma the stretch is a point: the average differs by less than 1e-6 of the density.
double normal_between(double x, double low, double high, double sigma) {
  if (high - low < 1e-3 * sigma) return normal_density(x, low, sigma);
  return normal_mass((low - x) / sigma, (high - x) / sigma) / (high - low);
}

}  // namespace

double normal_density(double x, double mean, double sigma) {
  const double z = (x - mean) / sigma;
  return std::exp(-0.5 * z * z) * 0.5 * std::numbers::inv_sqrtpi * std::numbers::sqrt2 / sigma;
}

double robust_normal(double x, double mean, double sigma) {
  return (1.0 - kTailShare) * normal_density(x, mean, sigma) + kTailShare * normal_density(x, mean, kTailWidth * sigma);
}

double robust_normal_between(double x, double from, double to, double sigma) {
  if (from == to) return robust_normal(x, from, sigma);
  const double low = std::min(from, to);
  const double high = std::max(from, to);
  return (1.0 - kTailShare) * normal_between(x, low, high, sigma) +
         kTailShare * normal_between(x, low, high, kTailWidth * sigma);
}

double robust_normal_peak(double sigma) { return robust_normal(0.0, 0.0, sigma); }

}  // namespace halfsplit::infer
