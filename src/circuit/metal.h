// SPDX-License-Identifier: Apache-2.0
// Metal: what joins two nodes for good, whatever the states of the circuit say - wires, contacts, joints.
#pragma once

#include <cstddef>
#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::circuit {

[[nodiscard]] constexpr bool is_metal(ElementKind kind) {
  return kind == ElementKind::kWire || kind == ElementKind::kContact || kind == ElementKind::kJoint;
}

// By node: nodes that metal joins, plugs together, share a label, below the number of nodes.
[[nodiscard]] std::vector<std::size_t> label_nets(const Netlist& netlist);

}  // namespace halfsplit::circuit
