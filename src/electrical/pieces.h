// SPDX-License-Identifier: Apache-2.0
// The islands after some branches of a circuit at rest have opened and some nodes were joined: the walk of cut_tree.h
// falls into stretches where its branches open, and those of one ring are led together again by the branches beside the
// walk. Only the smaller pieces are looked through for these: of two that a branch joins one is not the largest. Values
// only.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "electrical/cut_tree.h"

namespace halfsplit::electrical {

class Pieces {
 public:
  // `opened`: branches of the model that conducted in the base; `joined`: pairs of nodes; `ties`: of the base, which
  // the islands' ties are among.
  Pieces(const CutTree& tree, const Model& model, const std::vector<std::size_t>& opened,
         const std::vector<std::pair<NodeId, NodeId>>& joined, const std::vector<NodeId>& ties,
         const std::vector<std::uint32_t>& tie_of_island);

  [[nodiscard]] bool together(NodeId a, NodeId b) const;
  // What each island needs so that it has one tie: nodes to tie, ties of the base to take away.
  [[nodiscard]] const std::vector<NodeId>& tie_at() const { return tie_at_; }
  [[nodiscard]] const std::vector<std::size_t>& untie() const { return untie_; }
  // The ends that hang on an opened bridge, or on another branch whose loss, with the others', parts them from what it
  // hung on.
  [[nodiscard]] const std::vector<NodeId>& cuts() const { return cuts_; }

 private:
  static constexpr std::uint32_t kAlone = 0xffffffffU;  // an island that nothing was done to
  struct Piece {
    NodeId node;              // one of its nodes: the first of its stretch
    std::uint32_t above = 0;  // the piece it was cut from; itself: what is left of an island
    std::uint32_t leader = 0;
    bool tied = false;
  };
  // From a place of the walk on, up to the next, nodes are of this piece; kAlone: of what is left of their island.
  struct Stretch {
    std::uint32_t from, piece;
  };

  void cut_walk(std::vector<NodeId> below);
  void lead_together(const Model& model, const std::vector<std::size_t>& opened, std::size_t rings);
  void place_ties(const std::vector<NodeId>& ties, const std::vector<std::uint32_t>& tie_of_island);
  [[nodiscard]] std::uint32_t find_piece(NodeId node) const;
  std::uint32_t take_piece(NodeId node);
  [[nodiscard]] std::uint32_t leader_of(std::uint32_t piece) const;
  bool unite(std::uint32_t a, std::uint32_t b);
  template <class Use>
  bool each_node(std::uint32_t piece, Use use) const;

  const CutTree* tree_;
  std::vector<Piece> pieces_;
  std::vector<std::uint32_t> islands_;  // by piece: the island; those cut off come first, in the order of the walk
  std::size_t cut_off_ = 0;
  std::vector<Stretch> stretches_;
  std::vector<NodeId> cuts_;
  std::vector<NodeId> tie_at_;
  std::vector<std::size_t> untie_;
};

}  // namespace halfsplit::electrical
