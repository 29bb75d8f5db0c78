// SPDX-License-Identifier: Apache-2.0
// Islands: nodes joined by branches that can carry current. A floating pin is the normal case in fault finding, so each
// island is solved with one node tied to 0 V by a tie that carries no current; nothing is said between islands.
#pragma once

#include <cstdint>
#include <vector>

#include "electrical/model.h"

namespace halfsplit::electrical {

struct Islands {
  std::vector<std::uint32_t> label;  // by node: the lowest node of its island
  [[nodiscard]] bool together(NodeId a, NodeId b) const { return label[a.index()] == label[b.index()]; }
};

// `conducts` by branch.
[[nodiscard]] Islands find_islands(const Model& model, const std::vector<char>& conducts);

}  // namespace halfsplit::electrical
