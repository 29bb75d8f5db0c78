// SPDX-License-Identifier: Apache-2.0
#include "plan/situation.h"

#include <algorithm>

#include "base/check.h"
#include "plan/setups.h"

namespace halfsplit::plan {

namespace {

bool mends(const Repair& repair, std::size_t fault) {
  return std::find(repair.mends.begin(), repair.mends.end(), FaultId(fault)) != repair.mends.end();
}

double likelihood(const Problem& problem, const Action& action, std::size_t outcome, std::size_t fault) {
  if (action.kind == ActionKind::kTest) {
    const Test& test = problem.tests[action.index];
    return test.table[fault * test.outcomes.size() + outcome];
  }
  return mends(problem.repairs[action.index], fault) == (outcome == kMended) ? 1.0 : 0.0;
}

const Conditions& conditions_of(const Problem& problem, const Action& action) {
  return action.kind == ActionKind::kTest ? problem.tests[action.index].conditions
                                          : problem.repairs[action.index].conditions;
}

}  // namespace

Situation start_of(const Problem& problem) {
  Situation start;
  for (const Fault& fault : problem.faults) start.weights.push_back(fault.prior);
  start.tests_left.assign(problem.tests.size(), true);
  start.repairs_left.assign(problem.repairs.size(), true);
  start.made = problem.initial_setups;
  return start;
}

std::size_t outcome_count(const Problem& problem, const Action& action) {
  if (action.kind == ActionKind::kStop) return 0;
  return action.kind == ActionKind::kTest ? problem.tests[action.index].outcomes.size() : 2;
}

double outcome_probability(const Problem& problem, const Situation& here, const Action& action, std::size_t outcome) {
  double all = 0.0;
  double part = 0.0;
  for (std::size_t f = 0; f < here.weights.size(); ++f) {
    all += here.weights[f];
    part += here.weights[f] * likelihood(problem, action, outcome, f);
  }
  return all > 0.0 ? part / all : 0.0;
}

Situation after(const Problem& problem, const Situation& here, const Action& action, std::size_t outcome) {
  HS_CHECK(action.kind != ActionKind::kStop, "nothing comes after the end");
  Situation next = here;
  for (std::size_t f = 0; f < next.weights.size(); ++f) next.weights[f] *= likelihood(problem, action, outcome, f);
  (action.kind == ActionKind::kTest ? next.tests_left : next.repairs_left)[action.index] = false;
  next.made = setups_after(problem, here.made, action);
  return next;
}

SetupSet setups_after(const Problem& problem, const SetupSet& made, const Action& action) {
  if (action.kind == ActionKind::kStop) return problem.undo_at_end ? SetupSet{} : made;
  const SetupSet at_action = lazy_target(problem.setups, made, conditions_of(problem, action));
  if (action.kind == ActionKind::kTest) return at_action;
  return lazy_target(problem.setups, at_action, problem.check.conditions);
}

double minutes_of(const Problem& problem, const Situation& here, const Action& action) {
  const SetupSet end = setups_after(problem, here.made, action);
  if (action.kind == ActionKind::kStop) return move_minutes(problem.setups, here.made, end);
  const SetupSet at_action = lazy_target(problem.setups, here.made, conditions_of(problem, action));
  const double minutes = move_minutes(problem.setups, here.made, at_action);
  if (action.kind == ActionKind::kTest) {
    const Test& test = problem.tests[action.index];
    return minutes + test.minutes + test.extra_minutes;
  }
  const Repair& repair = problem.repairs[action.index];
  return minutes + repair.minutes + repair.extra_minutes + move_minutes(problem.setups, at_action, end) +
         problem.check.minutes;
}

Decision way_to(const Problem& problem, const Situation& here, const Action& action) {
  const auto minutes_of_steps = [](const std::vector<SetupStep>& steps) {
    double sum = 0.0;
    for (const SetupStep& step : steps) sum += step.minutes;
    return sum;
  };
  Decision decision;
  decision.action = action;
  const SetupSet end = setups_after(problem, here.made, action);
  SetupSet at_action = end;
  if (action.kind == ActionKind::kTest) {
    const Test& test = problem.tests[action.index];
    decision.action_minutes = test.minutes + test.extra_minutes;
  } else if (action.kind == ActionKind::kRepair) {
    const Repair& repair = problem.repairs[action.index];
    decision.action_minutes = repair.minutes + repair.extra_minutes;
    at_action = lazy_target(problem.setups, here.made, repair.conditions);
    decision.proof_steps = move_steps(problem.setups, at_action, end);
    decision.proof_minutes = minutes_of_steps(decision.proof_steps) + problem.check.minutes;
  }
  decision.steps = move_steps(problem.setups, here.made, at_action);
  decision.setup_minutes = minutes_of_steps(decision.steps);
  return decision;
}

bool is_isolated(const Problem& problem, const Situation& here) {
  const auto alive = [&](std::size_t f) { return here.weights[f] > 0.0; };
  std::size_t count = 0;
  for (std::size_t f = 0; f < here.weights.size(); ++f) count += alive(f) ? 1 : 0;
  if (count <= 1) return true;
  return std::any_of(problem.repairs.begin(), problem.repairs.end(), [&](const Repair& repair) {
    for (std::size_t f = 0; f < here.weights.size(); ++f) {
      if (alive(f) && !mends(repair, f)) return false;
    }
    return true;
  });
}

}  // namespace halfsplit::plan
