// SPDX-License-Identifier: Apache-2.0
// A strategy written out as a tree to take to the vehicle: what to do, what each outcome leads to, and how long the job
// may take. Minutes and probabilities. Branches too unlikely to print are cut: they keep their probability and what
// they are expected to cost. Plain values; printing is for others.
#pragma once

#include <cstddef>
#include <functional>
#include <limits>
#include <vector>

#include "base/cancel.h"
#include "plan/decide.h"
#include "plan/situation.h"

namespace halfsplit::plan {

struct PlanBranch {
  std::size_t outcome = 0;   // of the test (Test::outcomes); of a repair: kMended, kNotMended
  double probability = 0.0;  // given that the node is reached
  std::size_t node = 0;      // into PlanTree::nodes
};

struct PlanNode {
  Action action;  // kStop: the job ends here (or, when cut, is not drawn further)
  bool cut = false;
  bool unresolved = false;             // kStop with faults left that nothing tells apart (goal kIsolate)
  double probability = 0.0;            // of getting here
  double minutes_before = 0.0;         // spent on the way here
  double minutes = 0.0;                // of this step: setups, action, proof; kStop: undoing what is made
  double expected_minutes = 0.0;       // from here to the end, this step included
  std::vector<SetupStep> steps;        // before the action
  std::vector<SetupStep> proof_steps;  // kRepair: before its check
  std::vector<PlanBranch> branches;    // in the order of the outcomes, impossible ones left out
};

struct PlanTree {
  std::vector<PlanNode> nodes;  // the first is the start; a node stands before its branches
  double expected_minutes = 0.0;
  double median_minutes = 0.0;  // half of the jobs take no longer
  double minutes_of_95 = 0.0;   // 95 in 100 jobs take no longer; a cut branch counts with its expected minutes
  double cut_probability = 0.0;
};

// What to do in a situation, and the minutes to the end that this is expected to take (used where a branch is cut).
struct Choice {
  Action action;
  double expected_minutes = 0.0;
  bool unresolved = false;
};
using Policy = std::function<Choice(const Situation&)>;

struct TreeOptions {
  double min_probability = 0.005;  // less likely branches are cut; 0: none is
  std::size_t max_nodes = 5'000;   // everything is cut when there are so many
};

[[nodiscard]] PlanTree grow_tree(const Problem& problem, const Situation& from, const Policy& policy,
                                 const TreeOptions& options = {});

struct PlanOptions {
  TreeOptions tree;
  DecideOptions decide;            // for the first step; the steps below share the same work by their probability
  std::size_t least_work = 4'000;  // looks for a step, however unlikely
};

// The default strategy, decided anew at every node.
[[nodiscard]] PlanTree make_tree(const Problem& problem, const PlanOptions& options = {});

}  // namespace halfsplit::plan
