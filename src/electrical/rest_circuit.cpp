// SPDX-License-Identifier: Apache-2.0
#include "electrical/rest_circuit.h"

#include <algorithm>

namespace halfsplit::electrical {

namespace {

std::uint64_t pair_key(NodeId a, NodeId b) {
  return static_cast<std::uint64_t>(a.value) << 31U | (b.value & 0x7fffffffU);
}

std::vector<sparse::Entry> difference(NodeId a, NodeId b) {
  std::vector<sparse::Entry> entries;
  if (!a.is_none()) entries.push_back({a.index(), 1.0});
  if (!b.is_none()) entries.push_back({b.index(), -1.0});
  return entries;
}

}  // namespace

RestCircuit::RestCircuit(const Model& model) : point_(solve_operating_point(model, std::nullopt, &lu_)) {}

void RestCircuit::prepare(const Model& model, const Stateful& stateful) {
  if (prepared_ || point_.status != Status::kSettled) return;
  prepared_ = true;
  halves_ = sparse::HalfSolver(lu_.extract());
  watches_ = Watches(model, stateful, point_, halves_);
  std::vector<char> conducts(model.branches.size());
  for (std::size_t i = 0; i < conducts.size(); ++i) conducts[i] = point_.laws[i].conducts() ? 1 : 0;
  tree_ = CutTree(model, conducts);
  tie_of_island_.assign(model.nodes, 0);
  for (std::size_t t = 0; t < point_.layout.ties.size(); ++t)
    tie_of_island_[tree_.island(point_.layout.ties[t])] = static_cast<std::uint32_t>(t);
}

Port RestCircuit::make_port(std::vector<sparse::Entry> entries) {
  ++solves_;
  Port port;
  port.left = halves_.left(entries);
  kept_entries_ += port.left.size();
  watches_.meet(port.left, port.near);
  std::sort(port.near.begin(), port.near.end());
  port.near.erase(std::unique(port.near.begin(), port.near.end()), port.near.end());
  return port;
}

sparse::Half RestCircuit::make_right(std::vector<sparse::Entry> entries) {
  ++solves_;
  sparse::Half half = halves_.right(entries);
  kept_entries_ += half.size();
  return half;
}

void RestCircuit::forget() {
  equations_.clear();
  unknowns_.clear();
  injections_.clear();
  across_.clear();
  kept_entries_ = 0;
}

const Port& RestCircuit::equation(std::size_t row) {
  if (equations_.size() <= row) equations_.resize(point_.layout.size());
  std::unique_ptr<Port>& port = equations_[row];
  if (!port) port = std::make_unique<Port>(make_port({{row, 1.0}}));
  return *port;
}

const Port& RestCircuit::injection(NodeId a, NodeId b) {
  const std::uint64_t key = pair_key(a, b);
  const auto found = injections_.find(key);
  if (found != injections_.end()) return found->second;
  return injections_.emplace(key, make_port(difference(a, b))).first->second;
}

const sparse::Half& RestCircuit::unknown(std::size_t index) {
  if (unknowns_.size() <= index) unknowns_.resize(point_.layout.size());
  std::unique_ptr<sparse::Half>& half = unknowns_[index];
  if (half) return *half;
  half = std::make_unique<sparse::Half>(make_right({{index, 1.0}}));
  return *half;
}

const sparse::Half& RestCircuit::across(NodeId a, NodeId b) {
  const std::uint64_t key = pair_key(a, b);
  const auto found = across_.find(key);
  if (found != across_.end()) return found->second;
  return across_.emplace(key, make_right(difference(a, b))).first->second;
}

}  // namespace halfsplit::electrical
