// SPDX-License-Identifier: Apache-2.0
// What the planner really costs: follows plan::decide() through every outcome, as the app does, with a fresh problem at
// each step made here (posterior, tests and repairs left, setups made). It takes the setup steps from the decision,
// makes them one by one and fails when one is not legal or the action cannot be done there. Small problems only.
#pragma once

#include <cmath>
#include <functional>
#include <stdexcept>

#include "plan/decide.h"

namespace halfsplit::twins {

using Decider = std::function<plan::Decision(const plan::Problem&)>;

class PlanFollower {
 public:
  explicit PlanFollower(Decider decider) : decider_(std::move(decider)) {}

  // Expected minutes from the problem's start to the end of the job.
  double follow(const plan::Problem& problem) {
    const plan::Decision decision = decider_(problem);
    plan::SetupSet made = problem.initial_setups;
    double minutes = take_steps(problem, decision.steps, made);
    if (decision.action.kind == plan::ActionKind::kStop) {
      if (problem.undo_at_end && !made.empty()) throw std::runtime_error("something is left made at the end");
      return minutes;
    }
    if (decision.action.kind == plan::ActionKind::kTest) return minutes + follow_test(problem, decision, made);
    return minutes + follow_repair(problem, decision, made);
  }

 private:
  static double take_steps(const plan::Problem& problem, const std::vector<plan::SetupStep>& steps,
                           plan::SetupSet& made) {
    double minutes = 0.0;
    for (const plan::SetupStep& step : steps) {
      if (made.contains(step.setup) == step.make) throw std::runtime_error("a step does what is done already");
      step.make ? made.insert(step.setup) : made.erase(step.setup);
      minutes +=
          step.make ? problem.setups[step.setup.index()].do_minutes : problem.setups[step.setup.index()].undo_minutes;
      made.for_each([&](plan::SetupId s) {
        const plan::Setup& setup = problem.setups[s.index()];
        if (!made.contains(setup.needs) || made.meets(setup.excludes)) throw std::runtime_error("a step is not legal");
      });
    }
    return minutes;
  }

  static void must_meet(const plan::SetupSet& made, const plan::Conditions& conditions) {
    if (!made.contains(conditions.needs) || made.meets(conditions.forbids))
      throw std::runtime_error("conditions not met");
  }

  double follow_test(const plan::Problem& problem, const plan::Decision& decision, const plan::SetupSet& made) {
    const plan::Test test = problem.tests[decision.action.index];
    must_meet(made, test.conditions);
    double minutes = test.minutes + test.extra_minutes;
    for (std::size_t o = 0; o < test.outcomes.size(); ++o) {
      plan::Problem next = problem;
      next.initial_setups = made;
      next.tests.erase(next.tests.begin() + static_cast<std::ptrdiff_t>(decision.action.index));
      double mass = 0.0;
      for (std::size_t f = 0; f < next.faults.size(); ++f) {
        mass += next.faults[f].prior *= test.table[f * test.outcomes.size() + o];
      }
      if (mass <= 0.0) continue;
      for (plan::Fault& fault : next.faults) fault.prior /= mass;
      minutes += mass * follow(next);
    }
    return minutes;
  }

  double follow_repair(const plan::Problem& problem, const plan::Decision& decision, plan::SetupSet made) {
    const plan::Repair repair = problem.repairs[decision.action.index];
    must_meet(made, repair.conditions);
    double minutes = repair.minutes + repair.extra_minutes + take_steps(problem, decision.proof_steps, made);
    must_meet(made, problem.check.conditions);
    minutes += problem.check.minutes;
    plan::Problem next = problem;
    next.initial_setups = made;
    next.repairs.erase(next.repairs.begin() + static_cast<std::ptrdiff_t>(decision.action.index));
    double mended = 0.0;
    for (const plan::FaultId fault : repair.mends) {
      mended += next.faults[fault.index()].prior;
      next.faults[fault.index()].prior = 0.0;
    }
    double rest = 0.0;
    for (const plan::Fault& fault : next.faults) rest += fault.prior;
    made.for_each([&](plan::SetupId s) {
      if (problem.undo_at_end) minutes += mended * problem.setups[s.index()].undo_minutes;
    });
    if (rest <= 0.0) return minutes;
    for (plan::Fault& fault : next.faults) fault.prior /= rest;
    return minutes + rest * follow(next);
  }

  Decider decider_;
};

}  // namespace halfsplit::twins
