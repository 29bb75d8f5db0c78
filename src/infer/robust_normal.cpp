// SPDX-License-Identifier: Apache-2.0
// The average of a normal density over a stretch of means is a difference of two normal distribution functions over
// the length of the stretch; taken on the side of the tail where the difference does not cancel.
#include "infer/robust_normal.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace halfsplit::infer {

namespace {

// Further out than this a density is 1e-31 of its middle: nothing beside a mis-probe, and so given as nothing.
constexpr double kFar = 12.0;

// Chance that a standard normal lies above z, z >= 0. Beyond 9 it is below 1e-18.
double tail(double z) { return 0.5 * std::erfc(z * (1.0 / std::numbers::sqrt2)); }

// Chance that it lies between a and b, 0 <= a <= b. The far tail counts only when it is not nothing beside the near
// one.
double mass_on_one_side(double a, double b) {
  constexpr double kNothing = 80.0;  // exp(-40) beside 1
  return (b - a) * (b + a) > kNothing ? tail(a) : tail(a) - tail(b);
}

// Chance that it lies between a and b, a <= b.
double normal_mass(double a, double b) {
  if (a > 0.0) return mass_on_one_side(a, b);
  if (b < 0.0) return mass_on_one_side(-b, -a);
  return 1.0 - (a < -9.0 ? 0.0 : tail(-a)) - (b > 9.0 ? 0.0 : tail(b));
}

// Below a thousandth of sigma the stretch is a point: the average differs by less than 1e-6 of the density.
double normal_between(double x, double low, double high, double sigma) {
  if (high - low < 1e-3 * sigma) return normal_density(x, low, sigma);
  if (low - x > kFar * sigma || x - high > kFar * sigma) return 0.0;
  return normal_mass((low - x) / sigma, (high - x) / sigma) / (high - low);
}

}  // namespace

double normal_density(double x, double mean, double sigma) {
  const double z = (x - mean) / sigma;
  if (std::fabs(z) > kFar) return 0.0;
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
