// SPDX-License-Identifier: Apache-2.0
// A walk over all branches that does not cross the nets of the sources' posts (there every circuit meets every other)
// nor a module's inner ground. A coil leads on to its contacts, a supply to its module's outputs.
#include "electrical/latches.h"

#include <algorithm>
#include <numeric>

#include "circuit/metal.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr std::uint32_t kNone = 0xffffffffU;

// What a module gives: its outputs and its rails.
bool is_output(const Branch& b) { return b.kind == ElementKind::kDriver || b.kind == ElementKind::kRail; }

bool is_post(const Branch& b) {
  return b.module.is_none() && (b.kind == ElementKind::kSource || (b.kind == ElementKind::kDiode && b.volt < 0.0));
}

}  // namespace

void Latches::prepare() {
  if (!coil_.empty()) return;
  coil_.assign(count_ + 1, -1);
  module_.assign(model_.dead.size(), -1);
  supply_feed_.resize(model_.dead.size());
  start_.assign(model_.nodes + 1, 0);
  for (std::size_t i = 0; i < count_; ++i) {
    const Branch& b = model_.branches[i];
    ++start_[b.a.index() + 1];
    ++start_[b.b.index() + 1];
  }
  for (std::size_t n = 0; n < model_.nodes; ++n) start_[n + 1] += start_[n];
  around_.resize(start_.back());
  std::vector<std::uint32_t> at(start_.begin(), start_.end() - 1);
  for (std::size_t i = 0; i < count_; ++i) {
    const Branch& b = model_.branches[i];
    around_[at[b.a.index()]++] = static_cast<std::uint32_t>(i);
    around_[at[b.b.index()]++] = static_cast<std::uint32_t>(i);
    if (b.kind == ElementKind::kRelayContact) contacts_.emplace_back(b.control, i);
    if (is_output(b)) drivers_.emplace_back(b.module.index(), i);
  }
  std::sort(contacts_.begin(), contacts_.end());
  std::sort(drivers_.begin(), drivers_.end());
  blocked_.assign(model_.nodes, 0);
  seen_.assign(model_.nodes, 0);
  supply_of_.assign(model_.nodes, kNone);
  for (std::size_t m = 0; m < model_.dead.size(); ++m) {
    const circuit::ModuleWiring& wiring = (*model_.modules)[m];
    if (!wiring.supply.is_none()) supply_of_[wiring.supply.index()] = static_cast<std::uint32_t>(m);
    if (!wiring.ground.is_none()) blocked_[wiring.ground.index()] = 1;
  }
  block_posts();
}

void Latches::block_posts() {
  std::vector<std::size_t> net(model_.nodes);
  std::iota(net.begin(), net.end(), std::size_t{0});
  const auto find = [&](std::size_t n) {
    while (net[n] != n) n = net[n] = net[net[n]];
    return n;
  };
  const auto end = model_.branches.begin() + static_cast<std::ptrdiff_t>(count_);
  for (auto b = model_.branches.begin(); b != end; ++b)
    if (circuit::is_metal(b->kind)) net[find(b->a.index())] = find(b->b.index());
  post_.assign(model_.nodes, 0);
  source_.assign(model_.nodes, 0);
  for (auto b = model_.branches.begin(); b != end; ++b) {
    if (!is_post(*b)) continue;
    source_[b->a.index()] = source_[b->b.index()] = 1;
    post_[find(b->a.index())] = post_[find(b->b.index())] = 1;
  }
  for (std::size_t n = 0; n < model_.nodes; ++n)
    if (post_[find(n)] != 0) post_[n] = blocked_[n] = 1;
}

void Latches::start() {
  ++walk_;
  waiting_.clear();
  own_ = model_.dead.size();
  rails_lead_ = false;
}

void Latches::visit(NodeId node) {
  if (node.is_none() || blocked_[node.index()] != 0 || seen_[node.index()] == walk_) return;
  seen_[node.index()] = walk_;
  waiting_.push_back(node);
}

void Latches::use_contacts(std::size_t coil) {
  for (auto c = std::lower_bound(contacts_.begin(), contacts_.end(), std::make_pair(coil, std::size_t{0}));
       c != contacts_.end() && c->first == coil; ++c) {
    visit(model_.branches[c->second].a);
    visit(model_.branches[c->second].b);
  }
}

// The pins, not the supply side of a high-side driver.
void Latches::use_drivers(std::size_t module) {
  const circuit::ModuleWiring& wiring = (*model_.modules)[module];
  for (auto d = std::lower_bound(drivers_.begin(), drivers_.end(), std::make_pair(module, std::size_t{0}));
       d != drivers_.end() && d->first == module; ++d) {
    if (model_.branches[d->second].kind == ElementKind::kRail && !rails_lead_) continue;
    for (const NodeId node : {model_.branches[d->second].a, model_.branches[d->second].b})
      if (node != wiring.supply) visit(node);
  }
}

// `but`: a branch not to cross.
template <class Found>
bool Latches::reach(Found found, std::size_t but, std::span<const Joined> joined) {
  while (!waiting_.empty()) {
    const NodeId node = waiting_.back();
    waiting_.pop_back();
    if (found(node)) return true;
    if (supply_of_[node.index()] != kNone) use_drivers(supply_of_[node.index()]);
    for (const auto& [a, b] : joined) {
      if (a == node) visit(b);
      if (b == node) visit(a);
    }
    for (std::uint32_t k = start_[node.index()]; k < start_[node.index() + 1]; ++k) {
      const std::size_t i = around_[k];
      const Branch& b = model_.branches[i];
      const bool own =
          b.module.index() == own_ && (b.kind == ElementKind::kDriver || (rails_lead_ && b.kind == ElementKind::kRail));
      if (i == but || own) continue;
      visit(b.a);
      visit(b.b);
      if (b.kind == ElementKind::kRelayCoil) use_contacts(i);
    }
  }
  return false;
}

// What joins something to a post, or to a module's inner ground, leads nowhere that was not led to before.
bool Latches::leads_on(std::span<const Joined> joined) const {
  const auto open = [&](NodeId node) { return !node.is_none() && blocked_[node.index()] == 0; };
  return std::any_of(joined.begin(), joined.end(), [&](const Joined& j) { return open(j.first) && open(j.second); });
}

bool Latches::coil_reaches_itself(std::size_t branch, std::span<const Joined> joined) {
  const Branch& coil = model_.branches[branch];
  start();
  use_contacts(branch);
  return reach([&](NodeId node) { return node == coil.a || node == coil.b; }, branch, joined);
}

bool Latches::coil_may_hold(std::size_t branch, std::span<const Joined> joined) {
  prepare();
  if (branch >= coil_.size()) return true;
  if (coil_[branch] < 0) coil_[branch] = coil_reaches_itself(branch, {}) ? 1 : 0;
  return coil_[branch] != 0 || (leads_on(joined) && coil_reaches_itself(branch, joined));
}

bool Latches::on_post_net(std::size_t branch) {
  prepare();
  return branch < count_ && circuit::is_metal(model_.branches[branch].kind) &&
         (post_[model_.branches[branch].a.index()] != 0 || post_[model_.branches[branch].b.index()] != 0);
}

// The walk stays on the metal of the net; where it meets a source the piece does not hang on the branch.
void Latches::collect_hanging(std::size_t branch, NodeId from, std::vector<NodeId>& next_to) {
  start();
  std::vector<NodeId> piece, around;
  const auto go = [&](NodeId node) {
    if (seen_[node.index()] == walk_) return;
    seen_[node.index()] = walk_;
    piece.push_back(node);
  };
  go(from);
  for (std::size_t k = 0; k < piece.size(); ++k) {
    const NodeId node = piece[k];
    if (source_[node.index()] != 0) return;
    for (std::uint32_t i = start_[node.index()]; i < start_[node.index() + 1]; ++i) {
      if (around_[i] == branch) continue;
      const Branch& b = model_.branches[around_[i]];
      const NodeId other = b.a == node ? b.b : b.a;
      if (circuit::is_metal(b.kind))
        go(other);
      else
        around.push_back(other);
    }
  }
  next_to.insert(next_to.end(), around.begin(), around.end());
}

const std::vector<NodeId>& Latches::hanging_on(std::size_t branch) {
  const bool on_net = on_post_net(branch);
  const auto [entry, is_new] = hanging_.try_emplace(branch);
  if (!is_new || !on_net) return entry->second;
  collect_hanging(branch, model_.branches[branch].a, entry->second);
  collect_hanging(branch, model_.branches[branch].b, entry->second);
  std::sort(entry->second.begin(), entry->second.end());
  entry->second.erase(std::unique(entry->second.begin(), entry->second.end()), entry->second.end());
  return entry->second;
}

bool Latches::module_reaches_itself(std::size_t module, std::span<const Joined> joined) {
  start();
  own_ = module;
  rails_lead_ = !joined.empty();  // by itself a rail is too few volts for the supply it comes from
  use_drivers(module);
  const NodeId supply = (*model_.modules)[module].supply;
  return reach([&](NodeId node) { return node == supply; }, count_, joined);
}

bool Latches::module_may_hold(std::size_t module, std::span<const Joined> joined) {
  prepare();
  if (module_[module] < 0) module_[module] = module_reaches_itself(module, {}) ? 1 : 0;
  return module_[module] != 0 || (leads_on(joined) && module_reaches_itself(module, joined));
}

// From what waits; `is_own`: branches not to cross.
template <class Own>
std::vector<bool> Latches::trace_feed(Own is_own) {
  std::vector<bool> feed(model_.nodes, false);
  while (!waiting_.empty()) {
    const NodeId node = waiting_.back();
    waiting_.pop_back();
    feed[node.index()] = true;
    for (std::uint32_t k = start_[node.index()]; k < start_[node.index() + 1]; ++k) {
      const Branch& b = model_.branches[around_[k]];
      if (is_own(b)) continue;
      for (const NodeId end : {b.a, b.b, b.c, b.d}) visit(end);
      if (b.kind == ElementKind::kRelayContact) {
        visit(model_.branches[b.control].a);
        visit(model_.branches[b.control].b);
      }
      if (b.kind == ElementKind::kDriver) visit((*model_.modules)[b.module.index()].supply);
    }
  }
  return feed;
}

bool Latches::bears_on_supply(std::size_t module, NodeId node) {
  prepare();
  if (node.is_none()) return false;
  std::vector<bool>& feed = supply_feed_[module];
  if (feed.empty()) {
    start();
    visit((*model_.modules)[module].supply);
    feed = trace_feed([&](const Branch& b) { return b.kind == ElementKind::kDriver && b.module.index() == module; });
  }
  return feed[node.index()];
}

template <class Own>
bool Latches::bears_on(std::size_t branch, NodeId one, NodeId other, NodeId node, Own is_own) {
  prepare();
  if (node.is_none()) return false;
  std::vector<bool>& feed = coil_feed_[branch];
  if (feed.empty()) {
    start();
    visit(one);
    visit(other);
    feed = trace_feed(is_own);
  }
  return feed[node.index()];
}

bool Latches::bears_on_coil(std::size_t branch, NodeId node) {
  const Branch& coil = model_.branches[branch];
  return bears_on(branch, coil.a, coil.b, node,
                  [&](const Branch& b) { return b.kind == ElementKind::kRelayContact && b.control == branch; });
}

bool Latches::bears_on_input(std::size_t branch, NodeId node) {
  const Branch& driver = model_.branches[branch];
  return bears_on(branch, driver.c, driver.d, node, [&](const Branch& b) { return &b == &driver; });
}

void Latches::mark_metal(NodeId from, std::vector<char>& marked) {
  prepare();
  start();
  visit(from);
  while (!waiting_.empty()) {
    const NodeId node = waiting_.back();
    waiting_.pop_back();
    marked[node.index()] = 1;
    for (std::uint32_t k = start_[node.index()]; k < start_[node.index() + 1]; ++k) {
      const Branch& b = model_.branches[around_[k]];
      if (!circuit::is_metal(b.kind)) continue;
      visit(b.a);
      visit(b.b);
    }
  }
}

// Its pin leads out, the supply side of a high-side driver does not.
bool Latches::driver_reaches_itself(std::size_t branch, std::span<const Joined> joined) {
  const Branch& driver = model_.branches[branch];
  if (driver.c.is_none()) return false;
  start();
  for (const NodeId node : {driver.a, driver.b})
    if (node != (*model_.modules)[driver.module.index()].supply) visit(node);
  return reach([&](NodeId node) { return node == driver.c || node == driver.d; }, branch, joined);
}

bool Latches::driver_may_hold(std::size_t branch, std::span<const Joined> joined) {
  prepare();
  if (branch >= count_) return true;
  if (coil_[branch] < 0) coil_[branch] = driver_reaches_itself(branch, {}) ? 1 : 0;
  return coil_[branch] != 0 || (leads_on(joined) && driver_reaches_itself(branch, joined));
}

bool Latches::anything_may_hold() {
  prepare();
  for (std::size_t i = 0; i < count_ && anything_ < 0; ++i) {
    const ElementKind kind = model_.branches[i].kind;
    if ((kind == ElementKind::kRelayCoil && coil_may_hold(i)) || (kind == ElementKind::kDriver && driver_may_hold(i)))
      anything_ = 1;
  }
  for (std::size_t m = 0; m < module_.size() && anything_ < 0; ++m)
    if (module_may_hold(m)) anything_ = 1;
  if (anything_ < 0) anything_ = 0;
  return anything_ != 0;
}

}  // namespace halfsplit::electrical
