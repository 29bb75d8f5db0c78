// SPDX-License-Identifier: Apache-2.0
// A walk in depth over each island, its stack kept by hand: a whole vehicle is deeper than a call stack likes.
#include "electrical/cut_tree.h"

#include <algorithm>
#include <utility>

namespace halfsplit::electrical {

namespace {

// The branches at each node, of those that are taken.
struct Adjacent {
  std::vector<std::uint32_t> start, branch;

  template <class Takes>
  Adjacent(const Model& model, Takes takes) : start(model.nodes + 1, 0) {
    const auto each = [&](auto use) {
      for (std::size_t i = 0; i < model.branches.size(); ++i) {
        const Branch& b = model.branches[i];
        if (b.a == b.b || !takes(i)) continue;
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
      below_(model.branches.size(), kNone),
      bridge_(model.branches.size(), 0) {
  const Adjacent adjacent(model, [&](std::size_t i) { return conducts[i] != 0; });
  std::vector<std::uint32_t> low(model.nodes, 0), next(adjacent.start.begin(), adjacent.start.end() - 1),
      through(model.nodes, kNone), path, ring_stack;
  std::uint32_t clock = 0;
  const auto enter = [&](std::uint32_t node, std::uint32_t root) {
    island_[node] = root;
    first_[node] = low[node] = clock++;
    order_.push_back(node);
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
      if (through[node] != kNone) bridge_[through[node]] = 1;
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
        below_[branch] = other;
        enter(other, root);
      } else {
        low[node] = std::min(low[node], first_[other]);
      }
    }
  }
  Adjacent beside(model, [&](std::size_t i) { return conducts[i] != 0 && !is_walked(i); });
  beside_start_ = std::move(beside.start);
  beside_ = std::move(beside.branch);
}

}  // namespace halfsplit::electrical
