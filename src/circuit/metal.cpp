// SPDX-License-Identifier: Apache-2.0
#include "circuit/metal.h"

#include <numeric>

namespace halfsplit::circuit {

std::vector<std::size_t> label_nets(const Netlist& netlist) {
  std::vector<std::size_t> parent(netlist.node_count());
  std::iota(parent.begin(), parent.end(), std::size_t{0});
  const auto find = [&](std::size_t n) {
    while (parent[n] != n) n = parent[n] = parent[parent[n]];
    return n;
  };
  for (const Element& e : netlist.elements)
    if (is_metal(e.kind)) parent[find(e.a.index())] = find(e.b.index());
  for (std::size_t n = 0; n < parent.size(); ++n) parent[n] = find(n);
  return parent;
}

}  // namespace halfsplit::circuit
