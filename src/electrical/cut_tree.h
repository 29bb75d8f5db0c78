// SPDX-License-Identifier: Apache-2.0
// What opening branches does to the islands, without looking at the whole circuit again. A walk through each island in
// depth (Tarjan, "A note on finding the bridges of a graph", Information Processing Letters 2, 1974): what hangs below
// a branch of the walk is one stretch of its order, and only the branches beside the walk lead out of the stretch
// another way. A branch whose loss parts its island is a bridge; any other alone parts nothing, two of one ring may
// (pieces.h). Values only.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "electrical/islands.h"

namespace halfsplit::electrical {

class CutTree {
 public:
  CutTree() = default;
  // `conducts` by branch.
  CutTree(const Model& model, const std::vector<char>& conducts);

  [[nodiscard]] std::uint32_t island(NodeId node) const { return island_[node.index()]; }
  [[nodiscard]] bool is_bridge(std::size_t branch) const { return bridge_[branch] != 0; }
  // Was it walked, rather than beside the walk?
  [[nodiscard]] bool is_walked(std::size_t branch) const { return below_[branch] != kNone; }
  // The end that hangs on it; of a branch that is walked.
  [[nodiscard]] NodeId below(std::size_t branch) const { return NodeId(below_[branch]); }
  [[nodiscard]] bool hangs_on(NodeId node, NodeId below) const {
    return first_[below.index()] <= first_[node.index()] && first_[node.index()] <= last_[below.index()];
  }
  // Branches of one ring share it; only of those that are no bridge.
  [[nodiscard]] std::uint32_t ring(const Branch& branch) const { return ring_[branch.a.index()]; }

  // The order of the walk: a node's place in it, the last place of what hangs below the node, and who is there.
  [[nodiscard]] std::uint32_t place(NodeId node) const { return first_[node.index()]; }
  [[nodiscard]] std::uint32_t last_below(NodeId node) const { return last_[node.index()]; }
  [[nodiscard]] NodeId at(std::uint32_t place) const { return NodeId(order_[place]); }
  // The branches beside the walk at a node.
  [[nodiscard]] std::span<const std::uint32_t> beside(NodeId node) const {
    return std::span(beside_).subspan(beside_start_[node.index()],
                                      beside_start_[node.index() + 1] - beside_start_[node.index()]);
  }

 private:
  static constexpr std::uint32_t kNone = 0xffffffffU;
  std::vector<std::uint32_t> island_, first_, last_, ring_, beside_start_;  // by node
  std::vector<std::uint32_t> below_;                                        // by branch
  std::vector<char> bridge_;                                                // by branch
  std::vector<std::uint32_t> order_, beside_;
};

}  // namespace halfsplit::electrical
