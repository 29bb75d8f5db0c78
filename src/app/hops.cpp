// SPDX-License-Identifier: Apache-2.0
#include "app/hops.h"

#include <algorithm>
#include <limits>
#include <queue>

namespace halfsplit::app {

namespace {

double hop_cost(const circuit::Element& e) {
  switch (e.kind) {
    case circuit::ElementKind::kWire:
    case circuit::ElementKind::kContact:
    case circuit::ElementKind::kJoint:
      return 1.0;
    case circuit::ElementKind::kFuse:
    case circuit::ElementKind::kSwitch:
    case circuit::ElementKind::kRelayContact:
    case circuit::ElementKind::kDriver:
      return 2.0;
    default:
      return 12.0;
  }
}

}  // namespace

// Dijkstra 1959.
Hops hops_from(const circuit::Netlist& netlist, circuit::NodeId from, const std::vector<circuit::NodeId>& closed) {
  Hops hops;
  hops.cost.assign(netlist.node_count(), std::numeric_limits<double>::infinity());
  hops.came.assign(netlist.node_count(), {netlist.elements.size(), true});
  std::vector<std::vector<std::size_t>> touching(netlist.node_count());
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    touching[netlist.elements[i].a.index()].push_back(i);
    touching[netlist.elements[i].b.index()].push_back(i);
  }
  std::vector<char> shut(netlist.node_count(), 0);
  for (const circuit::NodeId node : closed)
    if (!node.is_none() && node != from) shut[node.index()] = 1;
  std::priority_queue<std::pair<double, std::size_t>, std::vector<std::pair<double, std::size_t>>, std::greater<>> open;
  hops.cost[from.index()] = 0.0;
  open.emplace(0.0, from.index());
  while (!open.empty()) {
    const auto [cost, node] = open.top();
    open.pop();
    if (cost > hops.cost[node] || shut[node] != 0) continue;
    for (const std::size_t i : touching[node]) {
      const circuit::Element& e = netlist.elements[i];
      const bool forward = e.a.index() == node;
      const std::size_t next = forward ? e.b.index() : e.a.index();
      const double sum = cost + hop_cost(e);
      if (sum >= hops.cost[next]) continue;
      hops.cost[next] = sum;
      hops.came[next] = {i, forward};
      open.emplace(sum, next);
    }
  }
  return hops;
}

std::vector<std::pair<std::size_t, bool>> find_path(const circuit::Netlist& netlist, circuit::NodeId from,
                                                    circuit::NodeId to) {
  const Hops hops = hops_from(netlist, from);
  std::vector<std::pair<std::size_t, bool>> path;
  for (std::size_t node = to.index(); node != from.index();) {
    const auto [i, forward] = hops.came[node];
    if (i == netlist.elements.size()) return {};
    path.emplace_back(i, forward);
    node = forward ? netlist.elements[i].a.index() : netlist.elements[i].b.index();
  }
  std::reverse(path.begin(), path.end());
  return path;
}

}  // namespace halfsplit::app
