// SPDX-License-Identifier: Apache-2.0
// What the modules' talking does to a meter.
#include <algorithm>

#include "predict/bus.h"
#include "predict/bus_lines.h"

namespace halfsplit::predict {

namespace {

// What LIN's pull-ups that block at rest put into the wire while S pulls it down, as the probe sees it.
double pulled_up(const Lines& lines, const electrical::Transfers& transfers, const BusLevels& levels, std::size_t s) {
  double shift = 0.0;
  const std::size_t count = lines.pull_ups.size();
  for (std::size_t k = 0; k < count; ++k)
    shift += transfers.ohm[lines.all.size() + k] * levels.ampere_pull_up[s * count + k];
  return shift;
}

}  // namespace

Talking talking(const Scene& scene, CircuitView& view, circuit::NodeId red, circuit::NodeId black) {
  Talking sum;
  for (std::size_t b = 0; b < scene.netlist.buses.size(); ++b) {
    const circuit::BusWiring& wiring = scene.netlist.buses[b];
    if (wiring.seats.empty()) continue;
    const auto on = [&](circuit::NodeId node) { return !node.is_none() && wiring.line[node.index()] != 0; };
    if (!on(red) && !on(black)) continue;
    const std::shared_ptr<const BusPicture> kept = bus_picture(scene, view, circuit::BusId(b));
    const BusPicture& picture = *kept;
    const Lines lines = lines_of(scene, view, circuit::BusId(b));
    const std::vector<electrical::Ends> ends = ends_of(lines);
    const electrical::Ends probe{red, black};
    const electrical::Transfers transfers = view.transfers({&probe, 1}, ends);
    const double share = scene.loom.buses[b].dominant_percent / 100.0 / static_cast<double>(wiring.seats.size());
    for (std::size_t s = 0; s < picture.seats; ++s) {
      if (picture.busy[s] <= 0.0) continue;
      double shift = transfers.ohm[lines.high(s)] * picture.levels.ampere_high[s];
      if (lines.per_seat == 2) shift += transfers.ohm[lines.low(s)] * picture.levels.ampere_low[s];
      shift += pulled_up(lines, transfers, picture.levels, s);
      sum.mean += std::min(1.0, share * picture.busy[s]) * shift;
      sum.highest = std::max(sum.highest, shift);
      sum.lowest = std::min(sum.lowest, shift);
    }
  }
  return sum;
}

}  // namespace halfsplit::predict
