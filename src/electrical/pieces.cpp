// SPDX-License-Identifier: Apache-2.0
#include "electrical/pieces.h"

#include <algorithm>
#include <numeric>

namespace halfsplit::electrical {

Pieces::Pieces(const CutTree& tree, const Model& model, const std::vector<std::size_t>& opened,
               const std::vector<std::pair<NodeId, NodeId>>& joined, const std::vector<NodeId>& ties,
               const std::vector<std::uint32_t>& tie_of_island)
    : tree_(&tree) {
  std::vector<std::uint32_t> rings;  // of each opened branch that is no bridge
  for (const std::size_t i : opened)
    if (model.branches[i].a != model.branches[i].b && !tree.is_bridge(i)) rings.push_back(tree.ring(model.branches[i]));
  std::sort(rings.begin(), rings.end());
  const auto alone = [&](const Branch& b) {
    const auto [begin, end] = std::equal_range(rings.begin(), rings.end(), tree.ring(b));
    return end - begin == 1;
  };
  std::vector<NodeId> below;
  std::vector<NodeId> below_ring;
  for (const std::size_t i : opened) {
    const Branch& b = model.branches[i];
    if (b.a == b.b || !tree.is_walked(i) || (!tree.is_bridge(i) && alone(b))) continue;
    below.push_back(tree.below(i));
    if (tree.is_bridge(i))
      cuts_.push_back(tree.below(i));
    else
      below_ring.push_back(tree.below(i));
  }
  cut_walk(std::move(below));
  for (const std::size_t i : opened)
    if (tree.is_bridge(i)) {
      take_piece(model.branches[i].a);
      take_piece(model.branches[i].b);
    }
  if (!below_ring.empty()) lead_together(model, opened, below_ring.size());
  for (const auto& [a, b] : joined) unite(take_piece(a), take_piece(b));
  for (const NodeId end : below_ring) {
    const std::uint32_t piece = find_piece(end);
    if (leader_of(piece) != leader_of(pieces_[piece].above)) cuts_.push_back(end);
  }
  place_ties(ties, tie_of_island);
}

// The walk falls into stretches; what hangs below one cut and above another is theirs in turn.
void Pieces::cut_walk(std::vector<NodeId> below) {
  std::sort(below.begin(), below.end(), [&](NodeId a, NodeId b) { return tree_->place(a) < tree_->place(b); });
  below.erase(std::unique(below.begin(), below.end()), below.end());
  std::vector<std::uint32_t> open;
  const auto close_before = [&](std::uint32_t place) {
    while (!open.empty() && tree_->last_below(pieces_[open.back()].node) < place) {
      const std::uint32_t next = tree_->last_below(pieces_[open.back()].node) + 1;
      open.pop_back();
      const std::uint32_t piece = open.empty() ? kAlone : open.back();
      if (stretches_.back().from == next)
        stretches_.back().piece = piece;
      else
        stretches_.push_back({next, piece});
    }
  };
  for (const NodeId node : below) {
    const std::uint32_t place = tree_->place(node);
    close_before(place);
    const auto piece = static_cast<std::uint32_t>(pieces_.size());
    pieces_.push_back({node, open.empty() ? kAlone : open.back(), piece, false});
    islands_.push_back(tree_->island(node));
    open.push_back(piece);
    if (!stretches_.empty() && stretches_.back().from == place)
      stretches_.back().piece = piece;
    else
      stretches_.push_back({place, piece});
  }
  close_before(kAlone);
  cut_off_ = pieces_.size();
  for (std::uint32_t piece = 0; piece < cut_off_; ++piece)
    if (pieces_[piece].above == kAlone) {
      const std::uint32_t left = take_piece(NodeId(islands_[piece]));
      pieces_[piece].above = left;
    }
}

std::uint32_t Pieces::find_piece(NodeId node) const {
  const std::uint32_t place = tree_->place(node);
  const auto after = std::upper_bound(stretches_.begin(), stretches_.end(), place,
                                      [](std::uint32_t at, const Stretch& stretch) { return at < stretch.from; });
  if (after != stretches_.begin() && std::prev(after)->piece != kAlone) return std::prev(after)->piece;
  const auto left =
      std::find(islands_.begin() + static_cast<std::ptrdiff_t>(cut_off_), islands_.end(), tree_->island(node));
  return left == islands_.end() ? kAlone : static_cast<std::uint32_t>(left - islands_.begin());
}

std::uint32_t Pieces::take_piece(NodeId node) {
  const std::uint32_t found = find_piece(node);
  if (found != kAlone) return found;
  const auto piece = static_cast<std::uint32_t>(pieces_.size());
  pieces_.push_back({node, piece, piece, false});
  islands_.push_back(tree_->island(node));
  return piece;
}

std::uint32_t Pieces::leader_of(std::uint32_t piece) const {
  while (pieces_[piece].leader != piece) piece = pieces_[piece].leader;
  return piece;
}

bool Pieces::unite(std::uint32_t a, std::uint32_t b) {
  a = leader_of(a);
  b = leader_of(b);
  if (a != b) pieces_[std::max(a, b)].leader = std::min(a, b);
  return a != b;
}

// Until `use` says to stop; false then.
template <class Use>
bool Pieces::each_node(std::uint32_t piece, Use use) const {
  const NodeId top = piece < cut_off_ ? pieces_[piece].node : NodeId(islands_[piece]);
  const std::uint32_t last = tree_->last_below(top);
  std::uint32_t place = tree_->place(top);
  auto stretch = std::lower_bound(stretches_.begin(), stretches_.end(), place,
                                  [](const Stretch& s, std::uint32_t at) { return s.from < at; });
  const std::uint32_t own = piece < cut_off_ ? piece : kAlone;
  bool here = true;
  while (place <= last) {
    for (; stretch != stretches_.end() && stretch->from <= place; ++stretch) here = stretch->piece == own;
    const std::uint32_t next = stretch == stretches_.end() ? last + 1 : std::min(last + 1, stretch->from);
    for (; here && place < next; ++place)
      if (!use(tree_->at(place))) return false;
    place = next;
  }
  return true;
}

// Pieces of one island by the branches beside the walk: each leads out of a piece that is not the largest.
void Pieces::lead_together(const Model& model, const std::vector<std::size_t>& opened, std::size_t rings) {
  std::vector<std::size_t> gone = opened;
  std::sort(gone.begin(), gone.end());
  std::vector<std::uint32_t> nodes(pieces_.size(), 0);
  for (std::uint32_t p = 0; p < pieces_.size(); ++p) {
    const NodeId top = p < cut_off_ ? pieces_[p].node : NodeId(islands_[p]);
    const std::uint32_t count = tree_->last_below(top) - tree_->place(top) + 1;
    nodes[p] += count;
    if (p < cut_off_) nodes[pieces_[p].above] -= count;
  }
  std::vector<std::uint32_t> order(pieces_.size());
  std::iota(order.begin(), order.end(), 0U);
  std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
    return islands_[a] != islands_[b] ? islands_[a] < islands_[b] : nodes[a] != nodes[b] ? nodes[a] < nodes[b] : a < b;
  });
  for (std::size_t k = 0; k + 1 < order.size() && rings > 0; ++k) {
    const std::uint32_t piece = order[k];
    if (islands_[piece] != islands_[order[k + 1]]) continue;  // the largest of its island
    static_cast<void>(each_node(piece, [&](NodeId node) {
      for (const std::uint32_t i : tree_->beside(node)) {
        const Branch& b = model.branches[i];
        const std::uint32_t other = find_piece(b.a == node ? b.b : b.a);
        if (other == piece || std::binary_search(gone.begin(), gone.end(), i)) continue;
        if (unite(piece, other)) --rings;
      }
      return rings > 0;
    }));
  }
}

void Pieces::place_ties(const std::vector<NodeId>& ties, const std::vector<std::uint32_t>& tie_of_island) {
  std::vector<std::uint32_t> islands = islands_;
  std::sort(islands.begin(), islands.end());
  islands.erase(std::unique(islands.begin(), islands.end()), islands.end());
  for (const std::uint32_t island : islands) {
    const std::uint32_t tie = tie_of_island[island];
    Piece& piece = pieces_[leader_of(take_piece(ties[tie]))];
    if (piece.tied) untie_.push_back(tie);
    piece.tied = true;
  }
  for (std::uint32_t p = 0; p < pieces_.size(); ++p)
    if (leader_of(p) == p && !pieces_[p].tied) tie_at_.push_back(pieces_[p].node);
}

bool Pieces::together(NodeId a, NodeId b) const {
  const std::uint32_t pa = find_piece(a);
  const std::uint32_t pb = find_piece(b);
  if (pa == kAlone || pb == kAlone) return pa == pb && tree_->island(a) == tree_->island(b);
  return leader_of(pa) == leader_of(pb);
}

}  // namespace halfsplit::electrical
