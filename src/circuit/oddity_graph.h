// SPDX-License-Identifier: Apache-2.0
// The netlist as a graph, for questions of the kind "is there a way at all": which nodes hang on a battery's +, which
// on its -, and what lies between. Nothing is solved; switches, relays and drivers count as ways.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "circuit/loom.h"
#include "circuit/netlist.h"

namespace halfsplit::circuit {

class OddityGraph {
 public:
  explicit OddityGraph(const Loom& loom);

  [[nodiscard]] const Netlist& netlist() const { return netlist_; }
  // A battery or alternator is drawn; without one there is no supply and no ground to look for.
  [[nodiscard]] bool has_source() const { return has_source_; }
  // Joined to a source's + (or -) by wires, contacts, fuses, switches, relay contacts, diodes, drivers.
  [[nodiscard]] bool is_hot(NodeId node) const { return hot_[node.index()] != kFar; }
  [[nodiscard]] bool is_ground(NodeId node) const { return ground_[node.index()] != kFar; }
  // Steps to the nearest source's +; a large number when there is no way.
  [[nodiscard]] std::uint32_t steps_to_supply(NodeId node) const { return hot_[node.index()]; }

  // The same, but also through other loads, as far as the other pole; `without` is not passed.
  [[nodiscard]] bool reaches_supply(NodeId node, std::size_t without) const;
  [[nodiscard]] bool reaches_ground(NodeId node, std::size_t without) const;

  // Elements met from a node through wires, contacts and joints alone, without passing frames.
  [[nodiscard]] std::vector<std::size_t> elements_near(NodeId node) const;

 private:
  static constexpr std::uint32_t kFar = 0xFFFFFFFFU;
  using Steps = std::vector<std::uint32_t>;
  // `with_current`: from + onwards, diodes from A to K; else from - back, diodes from K to A.
  [[nodiscard]] bool is_way(const Element& element, NodeId from, bool with_current) const;
  [[nodiscard]] Steps flood(const std::vector<NodeId>& from, bool with_current) const;
  // With the current to ground, or against it to the supply.
  [[nodiscard]] bool reaches(NodeId node, std::size_t without, bool with_current) const;
  [[nodiscard]] bool can_pass(const Element& element, NodeId from, bool with_current) const;
  void link();
  void find_poles(const Loom& loom);

  Netlist netlist_;
  std::vector<std::vector<std::size_t>> elements_of_;  // by node
  std::vector<NodeId> plus_, minus_, charged_;         // charged_: an alternator's +
  // hot_at_rest_: by batteries, where there are any. What only an alternator lifts is a way back while it stands still,
  // as its warning lamp's is.
  Steps hot_, hot_at_rest_, ground_;
  std::vector<bool> frame_;  // by node
  std::vector<bool> diode_;  // by part: a diode, and not a lamp or an alternator drawn as one
  bool has_source_ = false;
};

}  // namespace halfsplit::circuit
