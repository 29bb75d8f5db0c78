// SPDX-License-Identifier: Apache-2.0
#include "electrical/transfers.h"

namespace halfsplit::electrical {

Transfers transfers_of(const OperatingPoint& point, const sparse::Lu& lu, std::span<const Ends> asked,
                       std::span<const Ends> ports) {
  Transfers result;
  result.open.assign(asked.size(), 0.0);
  result.ohm.assign(asked.size() * ports.size(), 0.0);
  const auto whole = [&](const Ends& ends) { return ends.red != ends.black && point.together(ends.red, ends.black); };
  for (std::size_t q = 0; q < asked.size(); ++q)
    if (whole(asked[q])) result.open[q] = point.volts(asked[q].red) - point.volts(asked[q].black);
  for (std::size_t p = 0; p < ports.size(); ++p) {
    if (!whole(ports[p])) continue;
    std::vector<double> x(point.layout.size(), 0.0);
    x[ports[p].red.index()] = 1.0;
    x[ports[p].black.index()] = -1.0;
    lu.solve(x);
    for (std::size_t q = 0; q < asked.size(); ++q)
      if (whole(asked[q])) result.ohm[q * ports.size() + p] = x[asked[q].red.index()] - x[asked[q].black.index()];
  }
  return result;
}

}  // namespace halfsplit::electrical
