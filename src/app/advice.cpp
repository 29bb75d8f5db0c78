// SPDX-License-Identifier: Apache-2.0
#include "app/advice.h"

#include <algorithm>

#include "app/cautions.h"
#include "app/outlook.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using candidates::Candidate;
using candidates::Test;

constexpr double kProveAbove = 0.6;  // chance of being mended from which on proof comes first

class Adviser {
 public:
  Adviser(Context& context, Session& session)
      : context_(context),
        session_(session),
        engine_(*session.engine),
        belief_(engine_.update(session.evidence, context.cancel)) {}

  Advice run(double within_minutes) {
    Advice advice;
    const bool looked =
        !session_.evidence.empty() && session_.evidence.back().repaired.size() == session_.repaired.size();
    if (!session_.repaired.empty() && (!looked || belief_.fixed > kProveAbove)) {
      advice.kind = Advice::Kind::kProve;
      return advice;
    }
    outlook_ = look_ahead(context_, session_, within_minutes);
    advice.tests_considered = outlook_.rough.size();
    advice.alike = outlook_.alike;
    plan::DecideOptions options;
    options.cancel = context_.cancel;
    const plan::Decision decision = plan::decide(outlook_.built.problem, options);
    tell(advice, decision);
    return advice;
  }

 private:
  std::string name_of(const evidence::Observable& what) const {
    return evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
  }

  std::string action_name(const plan::Action& action) const {
    if (action.kind == plan::ActionKind::kTest)
      return name_of(outlook_.candidates[outlook_.tests[outlook_.built.test_of[action.index]].candidate].what);
    if (action.kind == plan::ActionKind::kRepair) return outlook_.built.problem.repairs[action.index].name;
    return "stop";
  }

  void tell(Advice& advice, const plan::Decision& decision) {
    const candidates::BuiltProblem& built = outlook_.built;
    advice.expected_minutes = decision.expected_minutes;
    advice.lower_bound_minutes = decision.lower_bound;
    advice.exact = decision.exact;
    advice.gap = decision.gap();
    advice.setup_minutes = decision.setup_minutes;
    advice.minutes = decision.action_minutes;
    for (const plan::SetupStep& step : decision.steps) tell_step(advice, built.acts[step.setup.index()], step);
    for (const plan::Candidate& c : decision.candidates)
      if (!(c.action == decision.action)) advice.alternatives.push_back({action_name(c.action), c.expected_minutes});
    if (decision.action.kind == plan::ActionKind::kTest)
      tell_test(advice, outlook_.tests[built.test_of[decision.action.index]]);
    if (decision.action.kind == plan::ActionKind::kRepair) tell_repair(advice, built, decision.action.index);
  }

  void tell_step(Advice& advice, const candidates::Act& act, const plan::SetupStep& step) {
    const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
    // Turning a key off needs no warning; lowering a body does.
    const bool quiet = !step.make && act.kind == candidates::Act::Kind::kSetup &&
                       candidates::is_electrical(session_.drawing(), act.setup);
    advice.steps.push_back({step.make ? record.name : record.undo_name, step.minutes, quiet ? "" : record.caution});
  }

  void tell_test(Advice& advice, const Test& test) {
    const Candidate& candidate = outlook_.candidates[test.candidate];
    advice.kind = Advice::Kind::kTest;
    advice.test = candidate.what;
    advice.what = name_of(candidate.what);
    advice.long_lead = candidate.long_lead;
    advice.bits = test.bits;
    advice.cautions = test_cautions(session_.loom(), session_.state, candidate);
    for (std::size_t o = 0; o < test.outcomes.size(); ++o) {
      AdviceOutcome outcome;
      outcome.outcome = test.outcomes[o];
      for (std::size_t s = 0; s < outlook_.suspects.size(); ++s) {
        const double p = outlook_.suspects[s].probability * test.chance[s * test.outcomes.size() + o];
        outcome.chance += p;
        outcome.suspects.emplace_back(outlook_.suspects[s].name, p);
      }
      for (auto& entry : outcome.suspects) entry.second /= std::max(outcome.chance, 1e-300);
      std::stable_sort(outcome.suspects.begin(), outcome.suspects.end(),
                       [](const auto& a, const auto& b) { return a.second > b.second; });
      if (outcome.suspects.size() > 4) outcome.suspects.resize(4);
      advice.outcomes.push_back(std::move(outcome));
    }
    circuit::Configuration after = session_.state;
    for (const candidates::Act& act : candidate.needs) candidates::apply(after, act, true);
    for (const candidates::Act& act : candidates::acts_of(after)) {
      const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
      const std::vector<circuit::SetupId>& in_use = session_.drawing().in_use;
      const bool normal = act.kind == candidates::Act::Kind::kSetup &&
                          std::find(in_use.begin(), in_use.end(), act.setup) != in_use.end();
      if (!record.leave && !normal) advice.undo_minutes += record.undo_minutes;
    }
  }

  void tell_repair(Advice& advice, const candidates::BuiltProblem& built, std::size_t index) {
    advice.kind = Advice::Kind::kRepair;
    advice.repairs = built.repairs[index];
    advice.repair = built.problem.repairs[index].name;
    for (const plan::FaultId f : built.problem.repairs[index].mends)
      advice.repair_probability += outlook_.suspects[f.index()].probability;
    advice.cautions = repair_cautions(session_.loom(), advice.repairs);
    for (const fault::RepairId id : advice.repairs) {
      const fault::Repair& record = session_.loom().universe.repairs[id.index()];
      advice.part_money += record.part_money;
      advice.minutes = built.problem.repairs[index].minutes;
    }
  }

  Context& context_;
  Session& session_;
  BeliefEngine& engine_;
  const Belief& belief_;
  Outlook outlook_;
};

}  // namespace

Advice advise(Context& context, Session& session, double within_minutes) {
  return Adviser(context, session).run(within_minutes);
}

}  // namespace halfsplit::app
