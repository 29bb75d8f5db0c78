// SPDX-License-Identifier: Apache-2.0
// Modified nodal analysis with every branch current an unknown (Ho, Ruehli, Brennan, "The modified nodal approach to
// network analysis", IEEE Trans. Circuits and Systems 22, 1975), so that opens and shorts are exact; states move in the
// order of states.h, each round solved anew.
#include "electrical/operating_point.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "electrical/elimination_order.h"

namespace halfsplit::electrical {

namespace {

constexpr int kFastRounds = 80;  // diodes and filaments
constexpr int kOneAtATime = 12;  // after so many rounds diodes move one by one
constexpr int kMiddleRounds = 60;
constexpr int kLastRounds = 40;
constexpr int kIdleRounds = 4;
constexpr int kRefinements = 2;  // of each solve: conductances spread over twelve decades leave 1e-5 before the first

class Solver {
 public:
  Solver(const Model& model, States start, sparse::Lu& lu) : model_(model), stateful_(find_stateful(model)), lu_(lu) {
    point_.states = std::move(start);
    point_.layout.nodes = model.nodes;
    point_.layout.branches = model.branches.size();
  }

  OperatingPoint run() {
    if (!settle() || !idle_diodes_come_again()) return std::move(point_);
    point_.residual = worst_residual();
    return std::move(point_);
  }

 private:
  bool fail(Status status) {
    point_.status = status;
    return false;
  }

  bool settle() {
    for (int last = 0; last < kLastRounds; ++last) {
      if (!settle_middle()) return false;
      if (!move_last(model_, stateful_, point_, point_.states)) return true;
    }
    return fail(Status::kUnsettled);
  }

  // One that is on and carries nothing is on only where the volts before it was are enough (states.h).
  bool idle_diodes_come_again() {
    for (int round = 0; round < kIdleRounds; ++round) {
      const std::vector<char> before = point_.states.on;
      std::size_t idle = 0;
      for (const std::size_t i : stateful_.fast)
        if (is_idle_diode(model_, point_, point_.states, i)) {
          point_.states.on[i] = 0;
          ++idle;
        }
      if (idle == 0) return true;
      if (!settle_fast()) return false;
      if (point_.states.on == before) return true;
      if (!settle()) return false;
    }
    return true;
  }

  // Modules, relays and drivers until they rest; the same set of states met twice is a circle.
  bool settle_middle() {
    std::set<std::vector<char>> seen;
    for (int round = 0; round < kMiddleRounds; ++round) {
      if (!settle_fast()) return false;
      if (!move_middle(model_, stateful_, point_, point_.states)) return true;
      std::vector<char> key = point_.states.on;
      key.insert(key.end(), point_.states.alive.begin(), point_.states.alive.end());
      if (!seen.insert(std::move(key)).second) return fail(Status::kUnsettled);
    }
    return fail(Status::kUnsettled);
  }

  bool settle_fast() {
    for (int round = 0; round < kFastRounds; ++round) {
      if (!solve()) return fail(Status::kSingular);
      if (!move_fast(model_, stateful_, point_, point_.states, round > kOneAtATime)) return true;
    }
    return fail(Status::kUnsettled);
  }

  bool solve() {
    ++point_.rounds;
    point_.laws.resize(model_.branches.size());
    std::vector<char> conducts(model_.branches.size());
    for (std::size_t i = 0; i < model_.branches.size(); ++i) {
      point_.laws[i] = law_of(model_, point_.states, i);
      conducts[i] = point_.laws[i].conducts() ? 1 : 0;
    }
    point_.islands = find_islands(model_, conducts);
    std::vector<NodeId> ties;
    for (std::size_t n = 0; n < model_.nodes; ++n)
      if (point_.islands.label[n] == n) ties.emplace_back(n);
    const bool same_pattern = point_.rounds > 1 && ties == point_.layout.ties;
    point_.layout.ties = std::move(ties);
    fill();
    if (same_pattern) {
      matrix_.refill(triplets_);
      if (!lu_.factor_again(matrix_)) return false;
    } else {
      matrix_ = sparse::Matrix(point_.layout.size(), triplets_);
      if (!lu_.factor(matrix_, ordering())) return false;
    }
    point_.x.assign(point_.layout.size(), 0.0);
    for (std::size_t i = 0; i < point_.laws.size(); ++i) point_.x[point_.layout.current(i)] = point_.laws[i].gamma;
    lu_.solve(point_.x, kRefinements);
    return std::all_of(point_.x.begin(), point_.x.end(), [](double v) { return std::isfinite(v); });
  }

  sparse::Ordering ordering() {
    if (node_order_.empty() && model_.nodes > 0) {
      std::vector<std::pair<int, int>> edges;
      const auto join = [&](NodeId a, NodeId b) {
        if (!a.is_none() && !b.is_none() && a != b)
          edges.emplace_back(static_cast<int>(a.value), static_cast<int>(b.value));
      };
      for (const Branch& b : model_.branches) {
        join(b.a, b.b);
        if (b.kind != circuit::ElementKind::kRatio) continue;
        for (const NodeId from : {b.a, b.b})
          for (const NodeId to : {b.c, b.d}) join(from, to);
      }
      node_order_ = sparse::order_by_degree(model_.nodes, edges);
    }
    return order_elimination(model_, point_.laws, point_.layout, node_order_);
  }

  void put(std::size_t row, std::size_t column, double value) {
    triplets_.push_back({static_cast<int>(row), static_cast<int>(column), value});
  }

  // Kirchhoff's current law by node, then each branch's law, then the ties. The pattern does not depend on the states.
  void fill() {
    triplets_.clear();
    const Layout& layout = point_.layout;
    for (std::size_t i = 0; i < model_.branches.size(); ++i) {
      const Branch& b = model_.branches[i];
      const Law& law = point_.laws[i];
      const std::size_t row = layout.current(i);
      put(b.a.index(), row, 1.0);
      put(b.b.index(), row, -1.0);
      put(row, b.a.index(), law.alpha);
      put(row, b.b.index(), -law.alpha);
      if (b.kind == circuit::ElementKind::kRatio) {
        put(row, b.c.index(), law.kappa);
        put(row, b.d.index(), -law.kappa);
      }
      put(row, row, law.beta);
    }
    for (std::size_t t = 0; t < layout.ties.size(); ++t) {
      put(layout.ties[t].index(), layout.tie(t), 1.0);
      put(layout.tie(t), layout.ties[t].index(), 1.0);
    }
  }

  double worst_residual() const {
    std::vector<long double> sum(model_.nodes, 0.0L);
    long double worst = 0.0L;
    for (std::size_t i = 0; i < model_.branches.size(); ++i) {
      const Branch& b = model_.branches[i];
      const Law& law = point_.laws[i];
      const long double current = point_.amperes(i);
      sum[b.a.index()] += current;
      sum[b.b.index()] -= current;
      long double rest = law.alpha * (static_cast<long double>(point_.volts(b.a)) - point_.volts(b.b)) +
                         law.beta * current - law.gamma;
      if (law.kappa != 0.0) rest += law.kappa * (static_cast<long double>(point_.volts(b.c)) - point_.volts(b.d));
      worst = std::max(worst, std::fabs(rest));
    }
    for (const long double s : sum) worst = std::max(worst, std::fabs(s));
    return static_cast<double>(worst);
  }

  const Model& model_;
  Stateful stateful_;
  sparse::Lu& lu_;
  OperatingPoint point_;
  std::vector<int> node_order_;
  std::vector<sparse::Triplet> triplets_;
  sparse::Matrix matrix_;
};

}  // namespace

OperatingPoint solve_operating_point(const Model& model, const std::optional<States>& start, sparse::Lu* lu) {
  sparse::Lu own;
  return Solver(model, start ? *start : starting_states(model), lu != nullptr ? *lu : own).run();
}

}  // namespace halfsplit::electrical
