// SPDX-License-Identifier: Apache-2.0
// What opening a branch does to the islands, without looking at the whole circuit again. A branch whose loss parts its
// island is a bridge (Tarjan, "A note on finding the bridges of a graph", Information Processing Letters 2, 1974): in a
// walk through the island in depth, what hangs on it is one stretch of the order of the walk. Any other branch alone
// parts nothing; two of one ring may. Values only.
#pragma once

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "electrical/islands.h"

namespace halfsplit::electrical {

class CutTree {
 public:
  CutTree() = default;
  // `conducts` by branch.
  CutTree(const Model& model, const std::vector<char>& conducts);

  [[nodiscard]] std::uint32_t island(NodeId node) const { return island_[node.index()]; }
  [[nodiscard]] bool is_bridge(std::size_t branch) const { return below_[branch] != kNone; }
  // The end of a bridge that hangs on it.
  [[nodiscard]] NodeId below(std::size_t bridge) const { return NodeId(below_[bridge]); }
  [[nodiscard]] bool hangs_on(NodeId node, NodeId below) const {
    return first_[below.index()] <= first_[node.index()] && first_[node.index()] <= last_[below.index()];
  }
  // Branches of one ring share it; only of those that are no bridge.
  [[nodiscard]] std::uint32_t ring(const Branch& branch) const { return ring_[branch.a.index()]; }

 private:
  static constexpr std::uint32_t kNone = 0xffffffffU;
  std::vector<std::uint32_t> island_, first_, last_, ring_;  // by node
  std::vector<std::uint32_t> below_;                         // by branch
};

// The islands after some branches of the base have opened and some nodes were joined, and what its ties need so that
// each island has one.
class Pieces {
 public:
  // `opened`: branches of the model that conducted in the base; `joined`: pairs of nodes; `ties`: of the base.
  // None: two opened branches share a ring, so that only a look at the whole can tell.
  [[nodiscard]] static std::optional<Pieces> cut(const CutTree& tree, const Model& model,
                                                 const std::vector<std::size_t>& opened,
                                                 const std::vector<std::pair<NodeId, NodeId>>& joined,
                                                 const std::vector<NodeId>& ties,
                                                 const std::vector<std::uint32_t>& tie_of_island);
  [[nodiscard]] bool together(NodeId a, NodeId b) const;
  [[nodiscard]] const std::vector<NodeId>& tie_at() const { return tie_at_; }
  [[nodiscard]] const std::vector<std::size_t>& untie() const { return untie_; }
  [[nodiscard]] const std::vector<NodeId>& cuts() const { return cuts_; }

 private:
  struct Piece {
    std::uint64_t id = 0;
    NodeId node;  // one of its nodes
    std::size_t leader = 0;
    bool tied = false;
  };
  explicit Pieces(const CutTree& tree) : tree_(&tree) {}
  [[nodiscard]] std::uint64_t id_of(NodeId node) const;
  std::size_t piece_of(NodeId node);
  [[nodiscard]] std::size_t find(std::size_t piece) const;

  const CutTree* tree_;
  std::vector<NodeId> cuts_;  // ends that hang on an opened bridge
  std::vector<Piece> pieces_;
  std::vector<NodeId> tie_at_;
  std::vector<std::size_t> untie_;
};

}  // namespace halfsplit::electrical
