// SPDX-License-Identifier: Apache-2.0
// How a circuit answers currents put in between pairs of nodes while its states stay as they stand: what a bus needs to
// know of its loom. Units: V, ohm.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "electrical/operating_point.h"

namespace halfsplit::electrical {

struct Ends {
  NodeId red, black;
  friend bool operator==(const Ends&, const Ends&) = default;
};

struct Transfers {
  std::vector<double> open;  // by asked pair: volts(red) - volts(black); 0 between islands
  // [asked * ports + port]: volts across `asked` for 1 A put in at the port's red and taken out at its black; 0 where a
  // pair's two nodes are on two islands.
  std::vector<double> ohm;
};

// At most so far a fault has moved what stands between pairs of nodes, against the circuit without it.
struct MostMoved {
  double volts = 0.0;  // of any pair
  double ohm = 0.0;    // of any pair, for 1 A put in at any pair
  bool apart = false;  // one of them is, or has come, together or apart; nothing is known then
};

// The slow path: `lu` holds the factors of `point` (solve_operating_point leaves them).
[[nodiscard]] Transfers transfers_of(const OperatingPoint& point, const sparse::Lu& lu, std::span<const Ends> asked,
                                     std::span<const Ends> ports);

}  // namespace halfsplit::electrical
