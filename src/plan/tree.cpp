// SPDX-License-Identifier: Apache-2.0
// Grown depth first from the start; costs are carried up afterwards, as nodes stand before their branches.
#include "plan/tree.h"

#include <algorithm>

#include "base/check.h"
#include "plan/planner.h"
#include "plan/setups.h"

namespace halfsplit::plan {

namespace {

class Grower {
 public:
  Grower(const Problem& problem, const Policy& policy, const TreeOptions& options)
      : problem_(problem), policy_(policy), options_(options) {}

  PlanTree grow(const Situation& from) {
    add_place(from, 1.0, 0.0);
    carry_up();
    summarise();
    return std::move(tree_);
  }

 private:
  std::size_t add_node(double probability, double minutes_before) {
    tree_.nodes.emplace_back();
    tree_.nodes.back().probability = probability;
    tree_.nodes.back().minutes_before = minutes_before;
    return tree_.nodes.size() - 1;
  }

  std::size_t add_place(const Situation& here, double probability, double minutes_before) {
    const std::size_t number = add_node(probability, minutes_before);
    const Choice choice = policy_(here);
    const bool first = number == 0;
    if (!first && choice.action.kind != ActionKind::kStop &&
        (probability < options_.min_probability || tree_.nodes.size() > options_.max_nodes)) {
      tree_.nodes[number].cut = true;
      tree_.nodes[number].expected_minutes = choice.expected_minutes;
      return number;
    }
    PlanNode node = tree_.nodes[number];
    node.unresolved = choice.unresolved;
    describe(here, choice.action, node);
    if (choice.action.kind != ActionKind::kStop) add_branches(here, node);
    tree_.nodes[number] = std::move(node);
    return number;
  }

  void describe(const Situation& here, const Action& action, PlanNode& node) const {
    node.action = action;
    node.minutes = minutes_of(problem_, here, action);
    const SetupSet end = setups_after(problem_, here.made, action);
    SetupSet at_action = end;
    if (action.kind == ActionKind::kRepair) {
      at_action = lazy_target(problem_.setups, here.made, problem_.repairs[action.index].conditions);
      node.proof_steps = move_steps(problem_.setups, at_action, end);
    }
    node.steps = move_steps(problem_.setups, here.made, at_action);
  }

  void add_branches(const Situation& here, PlanNode& node) {
    const double minutes = node.minutes_before + node.minutes;
    for (std::size_t o = 0; o < outcome_count(problem_, node.action); ++o) {
      const double p = outcome_probability(problem_, here, node.action, o);
      if (!(p > 0.0)) continue;
      const bool over = node.action.kind == ActionKind::kRepair && o == kMended;
      const Situation next = after(problem_, here, node.action, o);
      const std::size_t child =
          over ? add_end(next, node.probability * p, minutes) : add_place(next, node.probability * p, minutes);
      node.branches.push_back({o, p, child});
    }
  }

  std::size_t add_end(const Situation& here, double probability, double minutes_before) {
    const std::size_t number = add_node(probability, minutes_before);
    describe(here, Action{}, tree_.nodes[number]);
    return number;
  }

  void carry_up() {
    for (auto node = tree_.nodes.rbegin(); node != tree_.nodes.rend(); ++node) {
      if (node->cut) continue;
      node->expected_minutes = node->minutes;
      for (const PlanBranch& branch : node->branches) {
        node->expected_minutes += branch.probability * tree_.nodes[branch.node].expected_minutes;
      }
    }
  }

  void summarise() {
    tree_.expected_minutes = tree_.nodes.front().expected_minutes;
    std::vector<std::pair<double, double>> ends;  // minutes of the whole job, probability
    for (const PlanNode& node : tree_.nodes) {
      if (node.action.kind != ActionKind::kStop && !node.cut) continue;
      ends.emplace_back(node.minutes_before + node.expected_minutes, node.probability);
      if (node.cut) tree_.cut_probability += node.probability;
    }
    std::sort(ends.begin(), ends.end());
    tree_.median_minutes = quantile(ends, 0.5);
    tree_.minutes_of_95 = quantile(ends, 0.95);
  }

  // The least of the ends' minutes that this share of the jobs does not exceed.
  static double quantile(const std::vector<std::pair<double, double>>& ends, double share) {
    double sum = 0.0;
    for (const auto& [minutes, probability] : ends) {
      sum += probability;
      if (sum >= share - 1e-9) return minutes;
    }
    return ends.back().first;
  }

  const Problem& problem_;
  const Policy& policy_;
  TreeOptions options_;
  PlanTree tree_;
};

double mass_of(const Situation& here) {
  double sum = 0.0;
  for (const double weight : here.weights) sum += weight;
  return sum;
}

}  // namespace

PlanTree grow_tree(const Problem& problem, const Situation& from, const Policy& policy, const TreeOptions& options) {
  return Grower(problem, policy, options).grow(from);
}

PlanTree make_tree(const Problem& problem, const PlanOptions& options) {
  HS_CHECK(validate(problem).ok(), "make_tree() takes a valid problem");
  Planner planner(problem);
  const Situation start = start_of(problem);
  const double whole = mass_of(start);
  const auto policy = [&](const Situation& here) {
    DecideOptions decide = options.decide;
    const double share = mass_of(here) / whole;  // weights are not rescaled, so this is the probability of being here
    decide.work_budget =
        std::max(options.least_work, static_cast<std::size_t>(share * static_cast<double>(decide.work_budget)));
    const Decision decision = planner.decide(here, decide);
    return Choice{decision.action, decision.expected_minutes, decision.unresolved};
  };
  return grow_tree(problem, start, policy, options.tree);
}

}  // namespace halfsplit::plan
