// SPDX-License-Identifier: Apache-2.0
// Where a scale is cut into outcomes. First in the widest gaps between neighbouring predictions, measured in their own
// spreads and weighed by how much belief lies on either side: what lies beyond a gap is plain to see. Then, where
// predictions run into each other, wherever a cut tells most about which repair is needed: such a reading is weighed,
// not read off. A range of severities that one repair mends stays one outcome. Any unit; the core of a test, no I/O.
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::candidates {

// A normal part of what a test may show: of `repair`, numbered from 0 by what mends it, with so much belief.
struct Lump {
  double mean = 0.0;
  double sigma = 0.0;
  double weight = 0.0;
  std::size_t repair = 0;
};

struct Cut {
  double at = 0.0;
  bool in_gap = false;  // nothing to speak of is predicted near it
};

// Rising. `lumps` by rising mean; weights may have any scale. None where all is alike.
[[nodiscard]] std::vector<Cut> find_cuts(const std::vector<Lump>& lumps);

// Share of a normal spread below a place; 0 or 1 at infinities.
[[nodiscard]] double share_below(double place, double mean, double sigma);

}  // namespace halfsplit::candidates
