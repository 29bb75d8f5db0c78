// SPDX-License-Identifier: Apache-2.0
// Whatever opens and is joined, the pieces are the islands that a look at the whole circuit finds.
#include "electrical/pieces.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "base/rng.h"

namespace halfsplit::electrical {
namespace {

using Pair = std::pair<NodeId, NodeId>;

// Some islands of any shape: chains, rings, branches side by side, branches from a node to itself.
struct Drawn {
  Model model;
  std::vector<char> conducts;
  std::vector<NodeId> ties;
  std::vector<std::uint32_t> tie_of_island;
  CutTree tree;
  std::vector<std::size_t> opened;
  std::vector<Pair> joined;

  explicit Drawn(base::Rng& rng) {
    model.nodes = 1 + rng.below(40);
    const std::size_t branches = rng.below(model.nodes * (1 + rng.below(3)) + 1);
    for (std::size_t i = 0; i < branches; ++i) {
      Branch b;
      b.a = NodeId(rng.below(model.nodes));
      b.b = NodeId(rng.below(4) == 0 ? b.a.index() : rng.below(model.nodes));
      if (rng.below(3) == 0 && b.a.index() + 1 < model.nodes) b.b = NodeId(b.a.index() + 1);  // chains
      model.branches.push_back(b);
      conducts.push_back(rng.below(5) == 0 ? 0 : 1);
    }
    tree = CutTree(model, conducts);
    const Islands islands = find_islands(model, conducts);
    tie_of_island.assign(model.nodes, 0);
    for (std::size_t n = 0; n < model.nodes; ++n) {
      if (islands.label[n] != n) continue;
      std::vector<NodeId> in_it;
      for (std::size_t m = 0; m < model.nodes; ++m)
        if (islands.label[m] == n) in_it.emplace_back(m);
      tie_of_island[tree.island(NodeId(n))] = static_cast<std::uint32_t>(ties.size());
      ties.push_back(in_it[rng.below(in_it.size())]);
    }
    for (std::size_t i = 0; i < branches; ++i)
      if (conducts[i] != 0 && rng.below(3) == 0) opened.push_back(i);
    for (std::size_t k = rng.below(4); k > 0; --k)
      joined.emplace_back(NodeId(rng.below(model.nodes)), NodeId(rng.below(model.nodes)));
  }

  [[nodiscard]] Islands after() const {
    std::vector<char> left = conducts;
    for (const std::size_t i : opened) left[i] = 0;
    Model whole = model;
    for (const auto& [a, b] : joined) {
      Branch bridge;
      bridge.a = a;
      bridge.b = b;
      whole.branches.push_back(bridge);
      left.push_back(1);
    }
    return find_islands(whole, left);
  }
};

TEST(Pieces, AreTheIslandsThatALookAtTheWholeFinds) {
  base::Rng rng(7);
  std::size_t led_together = 0;
  for (int time = 0; time < 20000; ++time) {
    const Drawn drawn(rng);
    const Pieces pieces(drawn.tree, drawn.model, drawn.opened, drawn.joined, drawn.ties, drawn.tie_of_island);
    const Islands before = find_islands(drawn.model, drawn.conducts);
    const Islands after = drawn.after();
    SCOPED_TRACE("time " + std::to_string(time));
    for (std::size_t a = 0; a < drawn.model.nodes; ++a)
      for (std::size_t b = a; b < drawn.model.nodes; ++b) {
        const NodeId na(a);
        const NodeId nb(b);
        ASSERT_EQ(pieces.together(na, nb), after.together(na, nb)) << a << " " << b;
        if (!before.together(na, nb) || after.together(na, nb)) continue;
        const auto parts = [&](NodeId cut) { return drawn.tree.hangs_on(na, cut) != drawn.tree.hangs_on(nb, cut); };
        ASSERT_TRUE(std::any_of(pieces.cuts().begin(), pieces.cuts().end(), parts)) << a << " " << b;
      }
    std::vector<int> tied(drawn.model.nodes, 0);
    for (std::size_t t = 0; t < drawn.ties.size(); ++t) ++tied[after.label[drawn.ties[t].index()]];
    for (const std::size_t t : pieces.untie()) --tied[after.label[drawn.ties[t].index()]];
    for (const NodeId node : pieces.tie_at()) ++tied[after.label[node.index()]];
    for (std::size_t n = 0; n < drawn.model.nodes; ++n) ASSERT_EQ(tied[n], after.label[n] == n ? 1 : 0) << n;
    const auto parts_nothing = [&](std::size_t i) {
      const Branch& b = drawn.model.branches[i];
      return b.a != b.b && drawn.tree.is_walked(i) && !drawn.tree.is_bridge(i) && after.together(b.a, b.b);
    };
    led_together += std::any_of(drawn.opened.begin(), drawn.opened.end(), parts_nothing) ? 1 : 0;
  }
  EXPECT_GT(led_together, 1000U);
}

}  // namespace
}  // namespace halfsplit::electrical
