// SPDX-License-Identifier: Apache-2.0
#include "infer/reliability.h"

#include <algorithm>
#include <cmath>

namespace halfsplit::infer {

void Reliability::add(double probability, bool right) {
  const double said = std::clamp(probability, 0.0, 1.0);
  Bin& bin = bins_[std::min(kBins - 1, static_cast<std::size_t>(said * static_cast<double>(kBins)))];
  bin.said += said;
  bin.right += right ? 1U : 0U;
  ++bin.claims;
  const double miss = said - (right ? 1.0 : 0.0);
  squares_ += miss * miss;
}

Reliability::Bin Reliability::all() const {
  Bin all;
  for (const Bin& bin : bins_) {
    all.said += bin.said;
    all.right += bin.right;
    all.claims += bin.claims;
  }
  return all;
}

double Reliability::calibration_error() const {
  double gap = 0.0;
  for (const Bin& bin : bins_) gap += std::fabs(bin.said - static_cast<double>(bin.right));
  return gap / static_cast<double>(std::max<std::size_t>(1, all().claims));
}

double Reliability::brier() const { return squares_ / static_cast<double>(std::max<std::size_t>(1, all().claims)); }

double Reliability::brier_of_base_rate() const {
  const double rate = all().share_right();
  return rate * (1.0 - rate);
}

}  // namespace halfsplit::infer
