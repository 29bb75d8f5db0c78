// SPDX-License-Identifier: Apache-2.0
#include "infer/beyond_drawing.h"

#include <algorithm>
#include <cmath>

#include "infer/likelihood.h"
#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

constexpr double kDisturbed[] = {0.05, 0.2, 0.5, 0.9};  // shares of readings, each as likely as the others

}  // namespace

BeyondDrawing weigh_beyond_drawing(std::span<const evidence::Prediction* const> healthy,
                                   std::span<const Reading> readings, const Noise& noise) {
  constexpr std::size_t kCount = std::size(kDisturbed);
  double weight[kCount];  // of each share, by the readings so far
  std::fill(std::begin(weight), std::end(weight), 1.0 / static_cast<double>(kCount));
  BeyondDrawing out;
  for (std::size_t c = 0; c < readings.size(); ++c) {
    double sum = 0.0;
    for (std::size_t k = 0; k < kCount; ++k) {
      Noise given = noise;
      given.healthy_beyond_drawing = 1.0 - kDisturbed[k];
      weight[k] *= std::exp(log_likelihood_beyond_drawing(*healthy[c], readings[c], given));
      sum += weight[k];
    }
    sum = std::max(sum, kLeastDensity);
    for (double& one : weight) one /= sum;
    out.log_likelihoods.push_back(std::log(sum));
  }
  out.healthy = 0.0;
  for (std::size_t k = 0; k < kCount; ++k) out.healthy += weight[k] * (1.0 - kDisturbed[k]);
  return out;
}

}  // namespace halfsplit::infer
