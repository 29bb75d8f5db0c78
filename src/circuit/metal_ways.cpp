// SPDX-License-Identifier: Apache-2.0
#include "circuit/metal_ways.h"

#include <deque>
#include <unordered_map>

namespace halfsplit::circuit {

MetalWays::MetalWays(const Netlist& netlist) : netlist_(netlist), at_(netlist.node_count()) {
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    const Element& e = netlist.elements[i];
    if (!is_metal(e.kind)) continue;
    at_[e.a.index()].emplace_back(i);
    at_[e.b.index()].emplace_back(i);
  }
}

std::optional<std::vector<ElementId>> MetalWays::between(NodeId from, NodeId to,
                                                         const std::set<ConnectorId>& apart) const {
  std::unordered_map<std::uint32_t, ElementId> by{{from.value, ElementId()}};  // node: by which element it was met
  const auto other_end = [&](ElementId id, NodeId node) {
    const Element& e = netlist_.elements[id.index()];
    return e.a == node ? e.b : e.a;
  };
  std::deque<NodeId> next{from};
  while (!next.empty() && !by.contains(to.value)) {
    const NodeId node = next.front();
    next.pop_front();
    for (const ElementId id : at_[node.index()]) {
      const Element& e = netlist_.elements[id.index()];
      if (e.kind == ElementKind::kContact && apart.contains(e.connector)) continue;
      const NodeId beyond = other_end(id, node);
      if (by.emplace(beyond.value, id).second) next.push_back(beyond);
    }
  }
  if (!by.contains(to.value)) return std::nullopt;
  std::vector<ElementId> way;
  for (NodeId node = to; node != from; node = other_end(way.back(), node)) way.push_back(by.at(node.value));
  return way;
}

}  // namespace halfsplit::circuit
