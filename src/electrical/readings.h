// SPDX-License-Identifier: Apache-2.0
// What can be asked of a circuit, and what comes back. Values only.
#pragma once

#include <cstddef>

#include "electrical/meter.h"

namespace halfsplit::electrical {

// A linear reading of the solution: sum of coefficient * unknown.
struct Functional {
  NodeId red, black;  // + volts(red) - volts(black); none: 0 V; between islands 0
  std::size_t branch = 0;
  bool current = false;  // amperes of `branch` instead
};

struct Predicted {
  Measured measured;
  double sigma = 0.0;  // of the circuit's tolerances alone, first order
};

struct BenchCounts {
  std::size_t solves = 0, factors = 0, updates = 0, refactored = 0, general_reads = 0;
};

}  // namespace halfsplit::electrical
