// SPDX-License-Identifier: Apache-2.0
// Solves one circuit as it stands, by factorising it: the slow, plain path that the rehearsal and every check use.
// Not settled is a result: the states that would not rest are kept and said. Results depend on inputs only.
#pragma once

#include <optional>
#include <vector>

#include "electrical/islands.h"
#include "electrical/model.h"
#include "electrical/states.h"
#include "sparse/lu.h"

namespace halfsplit::electrical {

enum class Status : std::uint8_t {
  kSettled,
  kUnsettled,  // states go round in a circle (a buzzing relay, a module that starts and drops out)
  kSingular,   // no single solution: ideal sources short each other
};

// Where unknowns sit: nodes, then branch currents, then the ties of the islands.
struct Layout {
  std::size_t nodes = 0, branches = 0;
  std::vector<NodeId> ties;
  [[nodiscard]] std::size_t current(std::size_t branch) const { return nodes + branch; }
  [[nodiscard]] std::size_t tie(std::size_t index) const { return nodes + branches + index; }
  [[nodiscard]] std::size_t size() const { return nodes + branches + ties.size(); }
};

struct OperatingPoint final : Solution {
  Status status = Status::kSettled;
  Layout layout;
  States states;
  std::vector<Law> laws;
  Islands islands;
  std::vector<double> x;
  double residual = 0.0;  // worst Kirchhoff or law residual, A or V, in extended precision
  int rounds = 0;         // factorisations

  [[nodiscard]] double volts(NodeId node) const override { return node.is_none() ? 0.0 : x[node.index()]; }
  [[nodiscard]] double amperes(std::size_t branch) const override { return x[layout.current(branch)]; }
  [[nodiscard]] bool together(NodeId a, NodeId b) const override { return islands.together(a, b); }
};

// From the moment before the supply comes, or from `start`. `lu`, when given, is left holding the factors of the
// result.
[[nodiscard]] OperatingPoint solve_operating_point(const Model& model,
                                                   const std::optional<States>& start = std::nullopt,
                                                   sparse::Lu* lu = nullptr);

}  // namespace halfsplit::electrical
