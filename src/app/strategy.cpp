// SPDX-License-Identifier: Apache-2.0
#include "app/strategy.h"

#include <algorithm>
#include <numeric>

#include "app/cautions.h"
#include "app/words.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using plan::ActionKind;
using plan::PlanBranch;
using plan::PlanNode;
using NodeKind = report::PlanSheetNode::Kind;

const candidates::Test& test_of(const Outlook& outlook, const PlanNode& node) {
  return outlook.tests[outlook.built.test_of[node.action.index]];
}

// What a branch leaves of the suspects: what shows so little that nothing is left is taken as it was.
std::vector<double> after(const Outlook& outlook, const PlanNode& node, const PlanBranch& branch,
                          const std::vector<double>& before) {
  std::vector<double> weights = before;
  if (node.action.kind == ActionKind::kTest) {
    const candidates::Test& test = test_of(outlook, node);
    for (std::size_t s = 0; s < weights.size(); ++s)
      weights[s] *= test.chance[s * test.outcomes.size() + branch.outcome];
  }
  if (node.action.kind == ActionKind::kRepair) {
    const std::vector<plan::FaultId>& mends = outlook.built.problem.repairs[node.action.index].mends;
    const bool mended = branch.outcome == plan::kMended;
    for (std::size_t s = 0; s < weights.size(); ++s)
      if ((std::find(mends.begin(), mends.end(), plan::FaultId(s)) != mends.end()) != mended) weights[s] = 0.0;
  }
  const double sum = std::accumulate(weights.begin(), weights.end(), 0.0);
  if (!(sum > 0.0)) return before;
  for (double& w : weights) w /= sum;
  return weights;
}

std::string leading(const Outlook& outlook, const std::vector<double>& belief) {
  const auto best = static_cast<std::size_t>(std::max_element(belief.begin(), belief.end()) - belief.begin());
  return outlook.suspects[best].name + " " + percent(belief[best]);
}

class Teller {
 public:
  Teller(const Session& session, const Strategy& strategy) : session_(session), s_(strategy) {}

  report::PlanSheetNode tell(std::size_t number) const {
    const PlanNode& from = s_.tree.nodes[number];
    report::PlanSheetNode node;
    node.chance = from.probability;
    node.minutes_before = from.minutes_before;
    node.minutes = from.minutes;
    node.expected_minutes = from.expected_minutes;
    node.first = words(from.steps, node.cautions);
    if (from.cut || from.action.kind == ActionKind::kStop) {
      node.kind = from.cut ? NodeKind::kCut : NodeKind::kEnd;
      return node;
    }
    if (from.action.kind == ActionKind::kTest)
      tell_test(from, node);
    else
      tell_repair(from, node);
    for (const PlanBranch& branch : from.branches) node.branches.push_back(tell_branch(from, branch));
    return node;
  }

 private:
  void tell_test(const PlanNode& from, report::PlanSheetNode& node) const {
    const candidates::Candidate& candidate = s_.outlook.candidates[test_of(s_.outlook, from).candidate];
    node.kind = NodeKind::kTest;
    node.act = evidence::format_observable(session_.drawing(), session_.loom().netlist, candidate.what);
    // What is in force already is said once, at the start.
    const bool start = &from == &s_.tree.nodes.front();
    add(node.cautions, test_cautions(session_.loom(), start ? session_.state : circuit::Configuration(), candidate));
  }

  void tell_repair(const PlanNode& from, report::PlanSheetNode& node) const {
    const std::vector<fault::RepairId>& repairs = s_.outlook.built.repairs[from.action.index];
    node.kind = NodeKind::kRepair;
    node.act = s_.outlook.built.problem.repairs[from.action.index].name;
    add(node.cautions, repair_cautions(session_.loom(), repairs));
    for (const fault::RepairId id : repairs) node.money += session_.loom().universe.repairs[id.index()].part_money;
    node.to_prove = words(from.proof_steps, node.cautions);
  }

  report::PlanSheetBranch tell_branch(const PlanNode& from, const PlanBranch& branch) const {
    report::PlanSheetBranch told;
    told.chance = branch.probability;
    told.node = branch.node;
    if (from.action.kind == ActionKind::kRepair) {
      told.seen = branch.outcome == plan::kMended ? "mended" : "not mended";
      if (branch.outcome == plan::kMended) return told;
    } else {
      told.seen = test_of(s_.outlook, from).outcomes[branch.outcome].name;
    }
    told.then_likely = leading(s_.outlook, s_.beliefs[branch.node]);
    return told;
  }

  std::vector<std::string> words(const std::vector<plan::SetupStep>& steps, std::vector<std::string>& cautions) const {
    std::vector<std::string> list;
    for (const plan::SetupStep& step : steps) {
      const candidates::ActRecord record =
          candidates::describe(session_.drawing(), session_.loom().netlist, s_.outlook.built.acts[step.setup.index()]);
      list.push_back(step.make ? record.name : record.undo_name);
      if (step.make && !record.caution.empty()) add(cautions, {record.caution});
      add(cautions, place_cautions(session_.drawing(), s_.outlook.built.acts[step.setup.index()]));
    }
    return list;
  }

  static void add(std::vector<std::string>& cautions, const std::vector<std::string>& more) {
    for (const std::string& text : more)
      if (std::find(cautions.begin(), cautions.end(), text) == cautions.end()) cautions.push_back(text);
  }

  const Session& session_;
  const Strategy& s_;
};

}  // namespace

Strategy make_strategy(Context& context, Session& session, double least_chance) {
  Strategy strategy;
  strategy.outlook = look_ahead(context, session);
  plan::PlanOptions options;
  options.tree.min_probability = least_chance;
  options.decide.cancel = context.cancel;
  strategy.tree = plan::make_tree(strategy.outlook.built.problem, options);
  const plan::Decision decision = plan::decide(strategy.outlook.built.problem, options.decide);
  strategy.exact = decision.exact;
  strategy.lower_bound_minutes = decision.lower_bound;
  strategy.beliefs.resize(strategy.tree.nodes.size());
  for (const candidates::SuspectRows& suspect : strategy.outlook.suspects)
    strategy.beliefs.front().push_back(suspect.probability);
  for (std::size_t n = 0; n < strategy.tree.nodes.size(); ++n)
    for (const PlanBranch& branch : strategy.tree.nodes[n].branches)
      strategy.beliefs[branch.node] = after(strategy.outlook, strategy.tree.nodes[n], branch, strategy.beliefs[n]);
  return strategy;
}

report::PlanSheet plan_sheet(const Session& session, const Strategy& strategy, double least_chance) {
  report::PlanSheet sheet;
  sheet.vehicle = session.job.vehicle.empty() ? session.drawing().vehicle : session.job.vehicle;
  sheet.complaint = session.job.complaint;
  sheet.loom = session.drawing().name;
  const Teller teller(session, strategy);
  for (std::size_t n = 0; n < strategy.tree.nodes.size(); ++n) sheet.nodes.push_back(teller.tell(n));
  sheet.expected_minutes = strategy.tree.expected_minutes;
  sheet.median_minutes = strategy.tree.median_minutes;
  sheet.minutes_of_95 = strategy.tree.minutes_of_95;
  sheet.lower_bound_minutes = strategy.lower_bound_minutes;
  sheet.exact = strategy.exact;
  sheet.cut_chance = strategy.tree.cut_probability;
  sheet.least_chance = least_chance;
  sheet.notes.push_back("Made from the " + std::to_string(strategy.outlook.built.problem.tests.size()) +
                        " most telling of " + std::to_string(strategy.outlook.rough.size()) +
                        " tests and the leading suspects as they stand now; made anew, it follows what was seen.");
  sheet.notes.emplace_back(
      "A diagnosis is a probability: where readings fit nothing here, the fault is not on this drawing.");
  return sheet;
}

double chance_within(const plan::PlanTree& tree, double minutes) {
  double chance = 0.0;
  for (const PlanNode& node : tree.nodes) {
    const bool ends = node.branches.empty();
    if (ends && node.minutes_before + node.expected_minutes <= minutes + 1e-9) chance += node.probability;
  }
  return chance;
}

double chance_of_use(const plan::PlanTree& tree, const StepTest& asks) {
  std::vector<char> used(tree.nodes.size(), 0);  // on the way to it, itself included
  double chance = 0.0;
  for (std::size_t n = 0; n < tree.nodes.size(); ++n) {
    const PlanNode& node = tree.nodes[n];
    if (used[n] == 0 && asks(node)) {
      used[n] = 1;
      chance += node.probability;
    }
    for (const PlanBranch& branch : node.branches) used[branch.node] = used[n];
  }
  return chance;
}

}  // namespace halfsplit::app
