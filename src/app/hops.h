// SPDX-License-Identifier: Apache-2.0
// Ways through the drawing, hop by hop: metal counts 1, what opens and closes 2, what lies in between (a load, a
// sensor, a module's inside) 12, so that it is gone through only when nothing else leads there.
#pragma once

#include <utility>
#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::app {

struct Hops {
  std::vector<double> cost;  // by node; infinite: no way there
  // By node: the element last crossed, and whether from its a to its b; none (the number of elements) at the start.
  std::vector<std::pair<std::size_t, bool>> came;
};

// From one node to all others. `closed` nodes are reached but not passed.
[[nodiscard]] Hops hops_from(const circuit::Netlist& netlist, circuit::NodeId from,
                             const std::vector<circuit::NodeId>& closed = {});
// Elements and directions of the cheapest way; empty when there is none, or none is needed.
[[nodiscard]] std::vector<std::pair<std::size_t, bool>> find_path(const circuit::Netlist& netlist, circuit::NodeId from,
                                                                  circuit::NodeId to);

}  // namespace halfsplit::app
