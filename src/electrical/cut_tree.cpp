// SPDX-License-Identifier: Apache-2.0
// A walk in depth over each island, its stack kept by hand: a whole vehicle is deeper than a call stack likes.
#include "electrical/cut_tree.h"

#include <algorithm>

namespace halfsplit::electrical {

namespace {

// Neighbours of each node, by conducting branch.
struct Adjacent {
  std::vector<std::uint32_t> start, branch;

  Adjacent(const Model& model, const std::vector<char>& conducts) : start(model.nodes + 1, 0) {
    const auto each = [&](auto use) {
      for (std::size_t i = 0; i < model.branches.size(); ++i) {
        const Branch& b = model.branches[i];
        if (conducts[i] == 0 || b.a == b.b) continue;
        use(b.a.index(), i);
        use(b.b.index(), i);
      }
    };
    each([&](std::size_t node, std::size_t) { ++start[node + 1]; });
    for (std::size_t n = 0; n < model.nodes; ++n) start[n + 1] += start[n];
    branch.resize(start.back());
    std::vector<std::uint32_t> at(start.begin(), start.end() - 1);
    each([&](std::size_t node, std::size_t i) { branch[at[node]++] = static_cast<std::uint32_t>(i); });
  }
};

}  // namespace

CutTree::CutTree(const Model& model, const std::vector<char>& conducts)
    : island_(model.nodes, kNone),
      first_(model.nodes, kNone),
      last_(model.nodes, 0),
      ring_(model.nodes, 0),
      below_(model.branches.size(), kNone) {
  const Adjacent adjacent(model, conducts);
  std::vector<std::uint32_t> low(model.nodes, 0), next(adjacent.start.begin(), adjacent.start.end() - 1),
      through(model.nodes, kNone), path, ring_stack;
  std::uint32_t clock = 0;
  const auto enter = [&](std::uint32_t node, std::uint32_t root) {
    island_[node] = root;
    first_[node] = low[node] = clock++;
    path.push_back(node);
    ring_stack.push_back(node);
  };
  const auto leave = [&](std::uint32_t node) {
    last_[node] = clock - 1;
    path.pop_back();
    if (low[node] == first_[node]) {  // nothing below reaches above: a ring of its own ends here
      while (true) {
        const std::uint32_t member = ring_stack.back();
        ring_stack.pop_back();
        ring_[member] = node;
        if (member == node) break;
      }
      if (through[node] != kNone) below_[through[node]] = node;
    }
    if (!path.empty()) low[path.back()] = std::min(low[path.back()], low[node]);
  };
  for (std::uint32_t root = 0; root < model.nodes; ++root) {
    if (first_[root] != kNone) continue;
    enter(root, root);
    while (!path.empty()) {
      const std::uint32_t node = path.back();
      if (next[node] == adjacent.start[node + 1]) {
        leave(node);
        continue;
      }
      const std::uint32_t branch = adjacent.branch[next[node]++];
      if (branch == through[node]) continue;
      const Branch& b = model.branches[branch];
      const std::uint32_t other = b.a.index() == node ? b.b.value : b.a.value;
      if (first_[other] == kNone) {
        through[other] = branch;
        enter(other, root);
      } else {
        low[node] = std::min(low[node], first_[other]);
      }
    }
  }
}

std::uint64_t Pieces::id_of(NodeId node) const {
  NodeId deepest;
  for (const NodeId cut : cuts_)
    if (tree_->hangs_on(node, cut) && (deepest.is_none() || tree_->hangs_on(cut, deepest))) deepest = cut;
  return deepest.is_none() ? static_cast<std::uint64_t>(tree_->island(node)) << 1U
                           : static_cast<std::uint64_t>(deepest.value) << 1U | 1U;
}

std::size_t Pieces::piece_of(NodeId node) {
  const std::uint64_t id = id_of(node);
  for (std::size_t p = 0; p < pieces_.size(); ++p)
    if (pieces_[p].id == id) return find(p);
  pieces_.push_back({id, node, pieces_.size(), false});
  return pieces_.size() - 1;
}

std::size_t Pieces::find(std::size_t piece) const {
  while (pieces_[piece].leader != piece) piece = pieces_[piece].leader;
  return piece;
}

bool Pieces::together(NodeId a, NodeId b) const {
  const std::uint64_t ia = id_of(a);
  const std::uint64_t ib = id_of(b);
  if (ia == ib) return true;
  const auto known = [&](std::uint64_t id) {
    for (std::size_t p = 0; p < pieces_.size(); ++p)
      if (pieces_[p].id == id) return find(p);
    return pieces_.size();
  };
  const std::size_t pa = known(ia);
  return pa < pieces_.size() && pa == known(ib);
}

std::optional<Pieces> Pieces::cut(const CutTree& tree, const Model& model, const std::vector<std::size_t>& opened,
                                  const std::vector<std::pair<NodeId, NodeId>>& joined, const std::vector<NodeId>& ties,
                                  const std::vector<std::uint32_t>& tie_of_island) {
  Pieces pieces(tree);
  std::vector<std::uint32_t> rings;
  for (const std::size_t i : opened) {
    const Branch& b = model.branches[i];
    if (b.a == b.b) continue;
    if (tree.is_bridge(i)) {
      pieces.cuts_.push_back(tree.below(i));
      continue;
    }
    if (std::find(rings.begin(), rings.end(), tree.ring(b)) != rings.end()) return std::nullopt;
    rings.push_back(tree.ring(b));
  }
  std::vector<std::uint32_t> islands;
  const auto take = [&](NodeId node) {
    const std::uint32_t island = tree.island(node);
    if (std::find(islands.begin(), islands.end(), island) == islands.end()) islands.push_back(island);
    return pieces.piece_of(node);
  };
  for (const std::size_t i : opened)
    if (tree.is_bridge(i)) {
      take(model.branches[i].a);
      take(model.branches[i].b);
    }
  for (const auto& [a, b] : joined) {
    const std::size_t pa = take(a);
    const std::size_t pb = take(b);
    if (pa != pb) pieces.pieces_[std::max(pa, pb)].leader = std::min(pa, pb);
  }
  for (const std::uint32_t island : islands) {
    const std::uint32_t tie = tie_of_island[island];
    Piece& piece = pieces.pieces_[pieces.piece_of(ties[tie])];
    if (piece.tied) pieces.untie_.push_back(tie);
    piece.tied = true;
  }
  for (std::size_t p = 0; p < pieces.pieces_.size(); ++p)
    if (pieces.find(p) == p && !pieces.pieces_[p].tied) pieces.tie_at_.push_back(pieces.pieces_[p].node);
  return pieces;
}

}  // namespace halfsplit::electrical
