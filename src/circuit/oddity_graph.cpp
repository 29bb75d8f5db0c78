// SPDX-License-Identifier: Apache-2.0
// Breadth-first floods from the poles of all batteries and alternators. A module whose supply or ground is not drawn
// counts as fed and grounded: the netlist gives it both.
#include "circuit/oddity_graph.h"

#include <deque>

#include "circuit/metal.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

constexpr double kWayOhm = 1.0;  // a module's own resistance below this is a way, above it a load

}  // namespace

OddityGraph::OddityGraph(const Loom& loom) : netlist_(build_netlist(loom)) {
  for (const Part& part : loom.parts) diode_.push_back(part.kind == PartKind::kDiode);
  link();
  find_poles(loom);
  const std::vector<NodeId>& at_rest = plus_.empty() ? charged_ : plus_;
  hot_at_rest_ = flood(at_rest, true);
  std::vector<NodeId> all = plus_;
  all.insert(all.end(), charged_.begin(), charged_.end());
  hot_ = flood(all, true);
  ground_ = flood(minus_, false);
}

void OddityGraph::link() {
  elements_of_.resize(netlist_.node_count());
  frame_.assign(netlist_.node_count(), false);
  for (std::size_t i = 0; i < netlist_.elements.size(); ++i) {
    const Element& element = netlist_.elements[i];
    elements_of_[element.a.index()].push_back(i);
    elements_of_[element.b.index()].push_back(i);
    if (element.kind != ElementKind::kRatio) continue;  // a sensor draws from its supply pins
    elements_of_[element.c.index()].push_back(i);
    elements_of_[element.d.index()].push_back(i);
  }
  for (const NodeId frame : netlist_.frame_nodes) frame_[frame.index()] = true;
}

void OddityGraph::find_poles(const Loom& loom) {
  for (const Element& element : netlist_.elements) {
    const bool battery = element.kind == ElementKind::kSource && !element.part.is_none();
    const bool alternator = element.kind == ElementKind::kDiode && !element.part.is_none() &&
                            loom.parts[element.part.index()].kind == PartKind::kAlternator;
    const bool module = element.kind == ElementKind::kSource && element.part.is_none();
    if (battery || alternator) has_source_ = true;
    if (battery || module) plus_.push_back(element.a);
    if (battery) minus_.push_back(element.b);
    if (alternator) charged_.push_back(element.b);
    if (alternator) minus_.push_back(element.a);
  }
}

bool OddityGraph::is_way(const Element& element, NodeId from, bool with_current) const {
  switch (element.kind) {
    case ElementKind::kWire:
    case ElementKind::kContact:
    case ElementKind::kJoint:
    case ElementKind::kFuse:
    case ElementKind::kSwitch:
    case ElementKind::kRelayContact:
    case ElementKind::kDriver:
      return true;
    case ElementKind::kDiode:
      return !element.part.is_none() && diode_[element.part.index()] &&
             (with_current ? from == element.a : from == element.b);
    case ElementKind::kResistor:
      return !element.module.is_none() && element.ohm < kWayOhm;
    default:
      return false;
  }
}

OddityGraph::Steps OddityGraph::flood(const std::vector<NodeId>& from, bool with_current) const {
  Steps steps(netlist_.node_count(), kFar);
  std::deque<NodeId> queue;
  for (const NodeId node : from) {
    steps[node.index()] = 0;
    queue.push_back(node);
  }
  while (!queue.empty()) {
    const NodeId node = queue.front();
    queue.pop_front();
    for (const std::size_t i : elements_of_[node.index()]) {
      const Element& element = netlist_.elements[i];
      const NodeId other = element.a == node ? element.b : element.a;
      if (!is_way(element, node, with_current) || steps[other.index()] != kFar) continue;
      steps[other.index()] = steps[node.index()] + 1;
      queue.push_back(other);
    }
  }
  return steps;
}

// A diode is passed one way only; everything else but sources both ways.
bool OddityGraph::can_pass(const Element& element, NodeId from, bool with_current) const {
  if (element.kind == ElementKind::kSource || element.kind == ElementKind::kRail) return false;
  const bool diode = element.kind == ElementKind::kDiode && (element.part.is_none() || diode_[element.part.index()]);
  return !diode || from == (with_current ? element.a : element.b);
}

bool OddityGraph::reaches(NodeId node, std::size_t without, bool with_current) const {
  const Steps& wanted = with_current ? ground_ : hot_;
  const Steps& barred = with_current ? hot_at_rest_ : ground_;
  std::vector<bool> seen(netlist_.node_count(), false);
  std::vector<NodeId> stack{node};
  seen[node.index()] = true;
  while (!stack.empty()) {
    const NodeId at = stack.back();
    stack.pop_back();
    if (wanted[at.index()] != kFar) return true;
    if (barred[at.index()] != kFar) continue;
    for (const std::size_t i : elements_of_[at.index()]) {
      const Element& element = netlist_.elements[i];
      if (i == without || !can_pass(element, at, with_current)) continue;
      for (const NodeId next : {element.a, element.b})
        if (!seen[next.index()]) {
          seen[next.index()] = true;
          stack.push_back(next);
        }
    }
  }
  return false;
}

bool OddityGraph::reaches_supply(NodeId node, std::size_t without) const { return reaches(node, without, false); }

bool OddityGraph::reaches_ground(NodeId node, std::size_t without) const { return reaches(node, without, true); }

std::vector<std::size_t> OddityGraph::elements_near(NodeId node) const {
  std::vector<bool> seen_node(netlist_.node_count(), false), seen(netlist_.elements.size(), false);
  std::vector<std::size_t> near;
  std::vector<NodeId> stack{node};
  seen_node[node.index()] = true;
  while (!stack.empty()) {
    const NodeId at = stack.back();
    stack.pop_back();
    if (frame_[at.index()]) continue;
    for (const std::size_t i : elements_of_[at.index()]) {
      if (seen[i]) continue;
      seen[i] = true;
      near.push_back(i);
      const Element& element = netlist_.elements[i];
      if (!is_metal(element.kind)) continue;
      for (const NodeId next : {element.a, element.b})
        if (!seen_node[next.index()]) {
          seen_node[next.index()] = true;
          stack.push_back(next);
        }
    }
  }
  return near;
}

}  // namespace halfsplit::circuit
