// SPDX-License-Identifier: Apache-2.0
// An AND/OR graph search (AO*: Martelli and Montanari 1973; Nilsson 1980) kept small. A node is a place (belief,
// setups, tests left); its edges are the steps possible there; an edge links to the places its outcomes lead to. A node
// carries the cost of the best plan found from it (at first the rollout of the rule of thumb: Bertsekas, Tsitsiklis and
// Wu 1997) and a lower bound. Each round walks down from the root along the most promising edge, mostly by the cost
// found and a little by the bound, into the outcome with the most still open, opens one edge there, and carries the
// figures up again.
#include "plan/lookahead.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace halfsplit::plan {

namespace {
constexpr double kUnbounded = std::numeric_limits<double>::infinity();
constexpr double kSettled = 1e-9;
constexpr double kOptimism = 0.3;  // how far an edge's figure leans from the cost found to the lower bound
constexpr std::size_t kNodeWork = 12;
// Places likely and small enough for the sharper bound (relaxed.h), and the looks to spend on one.
constexpr double kRelaxedMass = 0.01;
constexpr std::uint32_t kRelaxedFaults = 12;
constexpr std::size_t kRelaxedWork = 1'000;
}  // namespace

Lookahead::NodeNumber Lookahead::add_node(const Belief& belief, SetNumber made, TestList tests) {
  const auto number = static_cast<NodeNumber>(nodes_.size());
  nodes_.emplace_back();
  Node& node = nodes_.back();
  node.belief = belief;
  node.made = made;
  node.tests.assign(tests.begin(), tests.end());
  node.seen = survey_->seen();
  node.low = survey_->bound(belief, made, survey_->glance(belief, made)) / belief.mass;
  node.high = rollout_.value(belief, made, tests, options_.floor) / belief.mass;
  const bool worth_it =
      belief.count <= kRelaxedFaults && belief.mass >= kRelaxedMass && node.high - node.low > kSettled;
  if (worth_it && number > 0) node.low = std::max(node.low, relaxed_bound(node, kRelaxedWork));
  node.low = std::min(node.low, node.high);
  return number;
}

Lookahead::NodeNumber Lookahead::child(const Belief& belief, SetNumber made, TestList tests) {
  const Fingerprint print = survey_->print(belief, made);
  if (const NodeNumber* known = known_.find(print)) return *known;
  const NodeNumber number = add_node(belief, made, tests);
  known_.put(print, number);
  return number;
}

// Lists the edges, with a guess for each: the unavoidable and wasted minutes, and the bits left at this place's price
// per bit.
void Lookahead::expand(NodeNumber number) {
  Node& node = nodes_[number];
  node.expanded = true;
  survey_->seen() = node.seen;
  const Surroundings around = survey_->glance(node.belief, node.made);
  survey_->list(node.belief, node.made, node.tests, around, steps_);
  survey_->bound_steps(node.belief, around, steps_);
  work_ += kNodeWork + node.tests.size();
  const double mass = node.belief.mass;
  const double finding_out = std::max(0.0, node.high * mass - around.unavoidable);
  const double per_bit = around.class_bits > 0.0 ? finding_out / around.class_bits : 0.0;
  for (const Step& step : steps_) {
    Edge edge;
    edge.step = step;
    edge.low = std::max(node.low, step.value / mass);
    edge.high = kUnbounded;
    edge.guess =
        std::max(edge.low, (around.unavoidable + step.waste + per_bit * (around.class_bits - step.bits)) / mass);
    node.edges.push_back(std::move(edge));
  }
  // The job ends here; a rollout that was closed with a plainer plan may not have seen it.
  if (node.edges.empty()) node.low = node.high = survey_->moves().end_minutes(node.made);
  settle(node);
}

// The places the outcomes lead to; `ended` receives the mass that a repair mends.
std::vector<Lookahead::Link> Lookahead::link_outcomes(const Node& from, const Step& step, double& ended) {
  const Model& model = survey_->model();
  const bool test = step.kind == ActionKind::kTest;
  const bool uncertain = test && !model.tests[step.index].sure;
  std::vector<std::uint16_t> tests;
  for (const Edge& edge : from.edges) {
    const bool taken = test && edge.step.index == step.index;
    if (edge.step.kind == ActionKind::kTest && !taken) tests.push_back(edge.step.index);
  }
  survey_->seen() = from.seen;
  std::vector<Link> links;
  ended = from.belief.mass;
  for (std::size_t o = 0; o < (test ? model.tests[step.index].outcomes : 1); ++o) {
    const BeliefStack::Mark mark = store_.mark();
    const Belief part =
        test ? store_.push_outcome(from.belief, step.index, o) : store_.push_unmended(from.belief, step.index);
    if (part.count == 0) continue;
    if (uncertain) survey_->seen().push_back({step.index, static_cast<std::uint8_t>(o)});
    const std::size_t before = nodes_.size();
    links.push_back({child(part, step.to, tests), part.mass / from.belief.mass});
    if (uncertain) survey_->seen().pop_back();
    if (nodes_.size() == before) store_.release(mark);
    ended -= part.mass;
  }
  return links;
}

void Lookahead::open(NodeNumber number, std::size_t at) {
  const Step step = nodes_[number].edges[at].step;
  double ended = 0.0;
  std::vector<Link> links = link_outcomes(nodes_[number], step, ended);
  Edge& edge = nodes_[number].edges[at];
  edge.links = std::move(links);
  edge.opened = true;
  edge.own_minutes = step.minutes;
  if (step.kind == ActionKind::kRepair) {
    edge.own_minutes += std::max(0.0, ended) / nodes_[number].belief.mass * survey_->moves().end_minutes(step.to);
  }
  refresh(number, at);
}

// Carries the links' figures to the edge and the node.
void Lookahead::refresh(NodeNumber number, std::size_t at) {
  Edge& edge = nodes_[number].edges[at];
  double low = edge.own_minutes;
  double high = edge.own_minutes;
  for (const Link& link : edge.links) {
    low += link.probability * nodes_[link.node].low;
    high += link.probability * nodes_[link.node].high;
  }
  edge.high = high;
  edge.low = std::min(high, std::max(edge.low, low));
  settle(nodes_[number]);
}

void Lookahead::settle(Node& node) const {
  if (node.edges.empty()) return;
  double low = kUnbounded;
  for (const Edge& edge : node.edges) {
    low = std::min(low, edge.low);
    node.high = std::min(node.high, edge.high);
  }
  node.low = std::min(node.high, std::max(node.low, low));
}

// The most promising edge that may still change anything; the number of edges when none may.
std::size_t Lookahead::pick_edge(const Node& node) const {
  std::size_t best = node.edges.size();
  double best_figure = kUnbounded;
  for (std::size_t i = 0; i < node.edges.size(); ++i) {
    const Edge& edge = node.edges[i];
    if (edge.low >= node.high - kSettled || (edge.opened && edge.high - edge.low < kSettled)) continue;
    const double figure = edge.opened ? edge.high - kOptimism * (edge.high - edge.low) : edge.guess;
    if (figure >= best_figure) continue;
    best = i;
    best_figure = figure;
  }
  return best;
}

Lookahead::NodeNumber Lookahead::pick_child(const Edge& edge) const {
  NodeNumber best = edge.links.front().node;
  double most = -1.0;
  for (const Link& link : edge.links) {
    const double open = link.probability * (nodes_[link.node].high - nodes_[link.node].low);
    if (open <= most) continue;
    most = open;
    best = link.node;
  }
  return best;
}

void Lookahead::improve_once() {
  path_.clear();
  NodeNumber at = 0;
  for (;;) {
    ++work_;
    if (!nodes_[at].expanded) expand(at);
    const std::size_t edge = pick_edge(nodes_[at]);
    if (edge == nodes_[at].edges.size()) {
      nodes_[at].low = nodes_[at].high;  // nothing left to look at is cheaper
      break;
    }
    if (!nodes_[at].edges[edge].opened) {
      open(at, edge);
      break;
    }
    path_.emplace_back(at, edge);
    at = pick_child(nodes_[at].edges[edge]);
  }
  for (auto step = path_.rbegin(); step != path_.rend(); ++step) refresh(step->first, step->second);
}

void Lookahead::start(const Start& start, std::size_t work) {
  nodes_.clear();
  known_.clear();
  store_.release({});
  rollout_.forget();
  survey_->seen().clear();
  const std::size_t limit = this->work() + work;
  add_node(store_.push(start.belief), start.made, start.tests);
  expand(0);
  if (!has_steps()) return;
  sharpen_root(work);
  open_first_wave(limit);
}

double Lookahead::relaxed_bound(const Node& node, std::size_t work) {
  const std::size_t before = relaxed_->work();
  const double value = relaxed_->value(node.belief, survey_->moves().set(node.made), node.tests, work);
  work_ += relaxed_->work() - before;
  return value / node.belief.mass;
}

// The sharper bounds, when they are cheap against what may be spent.
void Lookahead::sharpen_root(std::size_t work) {
  Node& root = nodes_.front();
  double low = relaxed_bound(root, work / 4);
  const std::size_t cost = root.tests.size() * root.belief.count * 3 / 2;
  if (cost * 4 <= work) {
    work_ += cost;
    const Surroundings around = survey_->glance(root.belief, root.made);
    const double sharp = survey_->bounds().finding_out(root.belief, around.group_bits, root.made, root.tests);
    low = std::max(low, (around.unavoidable + sharp) / root.belief.mass);
  }
  root.low = std::min(root.high, std::max(root.low, low));
}

// The root's cost is that of an edge, so that there is always a step to take.
void Lookahead::open_first_wave(std::size_t limit) {
  Node& root = nodes_.front();
  root.high = kUnbounded;
  std::vector<std::size_t> order(root.edges.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return root.edges[a].guess < root.edges[b].guess; });
  for (std::size_t i = 0; i < order.size() && i < options_.first_wave; ++i) {
    if (i >= options_.sure_candidates && (work() >= limit || cancel_.cancelled())) break;
    open(0, order[i]);
  }
}

bool Lookahead::finished() const {
  const Node& root = nodes_.front();
  return root.high - root.low <= kSettled * std::max(1.0, root.high);
}

void Lookahead::improve(std::size_t work) {
  const std::size_t limit = this->work() + work;
  while (!finished() && this->work() < limit && !cancel_.cancelled()) improve_once();
}

Action Lookahead::best() const {
  const std::vector<Edge>& edges = nodes_.front().edges;
  const auto cheapest =
      std::min_element(edges.begin(), edges.end(), [](const Edge& a, const Edge& b) { return a.high < b.high; });
  return {cheapest->step.kind, cheapest->step.index};
}

std::vector<LookaheadStep> Lookahead::steps() const {
  std::vector<LookaheadStep> out;
  for (const Edge& edge : nodes_.front().edges) out.push_back({edge.step, edge.high, edge.low});
  std::stable_sort(out.begin(), out.end(), [](const LookaheadStep& a, const LookaheadStep& b) {
    return a.expected_minutes < b.expected_minutes;
  });
  return out;
}

}  // namespace halfsplit::plan
