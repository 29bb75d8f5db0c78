// SPDX-License-Identifier: Apache-2.0
#include "predict/severity_cuts.h"

namespace halfsplit::predict {

namespace {

constexpr double kWithin = 1.0 / 512;  // of a range

}  // namespace

std::vector<double> find_cuts(Campaign& campaign, fault::FaultId fault, std::size_t parts) {
  std::vector<double> cuts;
  const auto end = [&](std::size_t k) { return static_cast<double>(k) / static_cast<double>(parts); };
  const auto states = [&](double quantile) { return campaign.states_at_work({{{fault, quantile}}}); };
  double low = 0.0;
  std::uint32_t before = states(low);
  for (std::size_t k = 0; k <= parts; ++k) {
    const double next = k < parts ? 0.5 * (end(k) + end(k + 1)) : 1.0;  // as the rows have it (infer/prior.h)
    const std::uint32_t after = states(next);
    double high = next;
    while (before != after && high - low > kWithin) {
      const double middle = 0.5 * (low + high);
      (states(middle) == before ? low : high) = middle;
    }
    if (before != after) cuts.push_back(0.5 * (low + high));
    low = next;
    before = after;
  }
  return cuts;
}

}  // namespace halfsplit::predict
