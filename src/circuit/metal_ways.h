// SPDX-License-Identifier: Apache-2.0
// Ways along metal: which wires, contacts and joints lie between two points of one conductor.
#pragma once

#include <optional>
#include <set>
#include <vector>

#include "circuit/metal.h"

namespace halfsplit::circuit {

class MetalWays {
 public:
  // The netlist must outlive it.
  explicit MetalWays(const Netlist& netlist);
  // What lies on the shortest way (fewest elements) from one node to the other while these plugs are apart, in no
  // order; none where no metal leads there.
  [[nodiscard]] std::optional<std::vector<ElementId>> between(NodeId from, NodeId to,
                                                              const std::set<ConnectorId>& apart = {}) const;

 private:
  const Netlist& netlist_;
  std::vector<std::vector<ElementId>> at_;  // metal, by node
};

}  // namespace halfsplit::circuit
