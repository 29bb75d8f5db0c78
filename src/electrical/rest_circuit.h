// SPDX-License-Identifier: Apache-2.0
// One circuit in one configuration without a fault, solved once, and what every change of it is measured against: left
// halves of the changes (ports), right halves of what is asked, the states each change can move, the islands. Ports and
// halves are made when first asked for and kept. Not for several threads at once. The model must outlive it unmoved;
// its branches may be patched meanwhile, none of what is kept here reads their values again.
#pragma once

#include <cstdint>
#include <memory>
#include <unordered_map>
#include <vector>

#include "electrical/cut_tree.h"
#include "electrical/operating_point.h"
#include "electrical/watches.h"
#include "sparse/half_solver.h"

namespace halfsplit::electrical {

// One way to change the circuit: 1 on the right of one equation, or 1 A put in at a node and taken out at another.
struct Port {
  sparse::Half left;
  std::vector<std::uint32_t> near;  // watches that meet it below the hubs
};

class RestCircuit {
 public:
  // Solves only; the rest is worked out by prepare(), which does nothing the second time or where there is no rest.
  explicit RestCircuit(const Model& model);
  void prepare(const Model& model, const Stateful& stateful);

  [[nodiscard]] const OperatingPoint& point() const { return point_; }
  [[nodiscard]] const sparse::Lu& lu() const { return lu_; }
  [[nodiscard]] const Watches& watches() const { return watches_; }
  [[nodiscard]] const CutTree& tree() const { return tree_; }
  [[nodiscard]] const std::vector<std::uint32_t>& tie_of_island() const { return tie_of_island_; }
  [[nodiscard]] std::size_t solves() const { return solves_; }
  // Entries of all ports and halves kept, some 28 bytes each; forget() drops them: no reference to one stays good.
  [[nodiscard]] std::size_t kept_entries() const { return kept_entries_; }
  void forget();

  [[nodiscard]] const Port& row(std::size_t branch) { return equation(point_.layout.current(branch)); }
  [[nodiscard]] const Port& injection(NodeId a, NodeId b);
  [[nodiscard]] const Port& tie(NodeId node) { return injection(node, NodeId()); }
  [[nodiscard]] const Port& untie(std::size_t tie) { return equation(point_.layout.tie(tie)); }
  // Right half of an unknown: a node's volts, a branch's current, a tie's.
  [[nodiscard]] const sparse::Half& unknown(std::size_t index);
  [[nodiscard]] const sparse::Half& volts(NodeId node) { return node.is_none() ? nothing_ : unknown(node.index()); }
  [[nodiscard]] const sparse::Half& current(std::size_t branch) { return unknown(point_.layout.current(branch)); }
  [[nodiscard]] const sparse::Half& across(NodeId a, NodeId b);

 private:
  const Port& equation(std::size_t row);
  Port make_port(std::vector<sparse::Entry> entries);
  sparse::Half make_right(std::vector<sparse::Entry> entries);

  sparse::Lu lu_;
  OperatingPoint point_;
  bool prepared_ = false;
  sparse::HalfSolver halves_;
  Watches watches_;
  CutTree tree_;
  std::vector<std::uint32_t> tie_of_island_;             // by lowest node
  std::vector<std::unique_ptr<Port>> equations_;         // by row
  std::vector<std::unique_ptr<sparse::Half>> unknowns_;  // by unknown
  std::unordered_map<std::uint64_t, Port> injections_;   // by pair of nodes
  std::unordered_map<std::uint64_t, sparse::Half> across_;
  sparse::Half nothing_;
  std::size_t solves_ = 0;
  std::size_t kept_entries_ = 0;
};

}  // namespace halfsplit::electrical
