// SPDX-License-Identifier: Apache-2.0
#include "electrical/elimination_order.h"

#include <numeric>

namespace halfsplit::electrical {

namespace {

// Volts across it are a little resistance times its current: its law can give a node's volts.
bool is_stiff(const Branch& b, const Law& law) {
  return b.a != b.b && law.alpha == 1.0 && law.kappa == 0.0 && law.beta < 0.0 && law.beta >= -1.0;
}

class Order {
 public:
  Order(const Model& model, const std::vector<Law>& laws, const Layout& layout)
      : model_(model),
        layout_(layout),
        taken_(model.branches.size(), 0),
        stiff_at_(model.nodes),
        now_(model.nodes),
        tie_of_(model.nodes, kNone) {
    std::iota(now_.begin(), now_.end(), std::size_t{0});
    for (std::size_t t = 0; t < layout.ties.size(); ++t) tie_of_[layout.ties[t].index()] = t;
    order_.rows.reserve(layout.size());
    order_.columns.reserve(layout.size());
    for (std::size_t i = 0; i < model.branches.size(); ++i) {
      const Branch& b = model.branches[i];
      if (!is_stiff(b, laws[i])) {
        own_current(i);
        continue;
      }
      stiff_at_[b.a.index()].push_back(i);
      stiff_at_[b.b.index()].push_back(i);
    }
  }

  sparse::Ordering run(const std::vector<int>& node_order) {
    for (const int node : node_order) take_out(static_cast<std::size_t>(node));
    for (std::size_t i = 0; i < taken_.size(); ++i)
      if (taken_[i] == 0) own_current(i);  // between nodes that are all gone
    for (std::size_t t = 0; t < layout_.ties.size(); ++t) put(layout_.ties[t].index(), layout_.tie(t));
    return std::move(order_);
  }

 private:
  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  void put(std::size_t row, std::size_t column) {
    order_.rows.push_back(static_cast<int>(row));
    order_.columns.push_back(static_cast<int>(column));
  }
  void own_current(std::size_t branch) {
    taken_[branch] = 1;
    put(layout_.current(branch), layout_.current(branch));
  }
  // Where what was at the node has moved.
  std::size_t now(std::size_t node) {
    while (now_[node] != node) node = now_[node] = now_[now_[node]];
    return node;
  }

  void take_out(std::size_t node) {
    if (tie_of_[node] != kNone) return put(layout_.tie(tie_of_[node]), node);
    std::vector<std::size_t>& here = stiff_at_[node];
    for (std::size_t k = 0; k < here.size(); ++k) {
      const std::size_t i = here[k];
      if (taken_[i] != 0) continue;
      const std::size_t a = now(model_.branches[i].a.index());
      const std::size_t b = now(model_.branches[i].b.index());
      if (a == b) {  // the resistance of a ring
        own_current(i);
        continue;
      }
      taken_[i] = 1;
      put(node, layout_.current(i));
      put(layout_.current(i), node);
      move_to(node, a == node ? b : a);
      return;
    }
    put(node, node);  // held by conductances alone
  }

  // What joined the two otherwise closes a ring now and is taken out with them: left over to the end, the currents of
  // all rings would be one dense block, and in every half of a solve.
  void move_to(std::size_t node, std::size_t other) {
    now_[node] = other;
    std::vector<std::size_t>& from = stiff_at_[node];
    std::vector<std::size_t>& to = stiff_at_[other];
    if (to.size() < from.size()) to.swap(from);
    for (const std::size_t i : from) {
      if (taken_[i] != 0) continue;
      if (now(model_.branches[i].a.index()) == now(model_.branches[i].b.index()))
        own_current(i);
      else
        to.push_back(i);
    }
    from = {};
  }

  const Model& model_;
  const Layout& layout_;
  std::vector<char> taken_;  // by branch
  std::vector<std::vector<std::size_t>> stiff_at_;
  std::vector<std::size_t> now_, tie_of_;  // by node
  sparse::Ordering order_;
};

}  // namespace

sparse::Ordering order_elimination(const Model& model, const std::vector<Law>& laws, const Layout& layout,
                                   const std::vector<int>& node_order) {
  return Order(model, laws, layout).run(node_order);
}

}  // namespace halfsplit::electrical
