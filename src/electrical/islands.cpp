// SPDX-License-Identifier: Apache-2.0
// Union-find with path halving; the lowest node of an island is its label, whatever the order of branches.
#include "electrical/islands.h"

#include <numeric>

namespace halfsplit::electrical {

namespace {

std::uint32_t root(std::vector<std::uint32_t>& label, std::uint32_t node) {
  while (label[node] != node) node = label[node] = label[label[node]];
  return node;
}

}  // namespace

Islands find_islands(const Model& model, const std::vector<char>& conducts) {
  Islands islands;
  islands.label.resize(model.nodes);
  std::iota(islands.label.begin(), islands.label.end(), 0U);
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    if (conducts[i] == 0) continue;
    const std::uint32_t a = root(islands.label, model.branches[i].a.value);
    const std::uint32_t b = root(islands.label, model.branches[i].b.value);
    if (a < b) islands.label[b] = a;
    if (b < a) islands.label[a] = b;
  }
  for (std::uint32_t node = 0; node < islands.label.size(); ++node) islands.label[node] = root(islands.label, node);
  return islands;
}

}  // namespace halfsplit::electrical
