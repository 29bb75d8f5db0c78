// SPDX-License-Identifier: Apache-2.0
#include "app/advice.h"

#include <algorithm>

#include "app/cautions.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using candidates::Candidate;
using candidates::Test;

class AdviceTeller {
 public:
  AdviceTeller(Session& session, const Outlook& outlook) : session_(session), outlook_(outlook) {}

  Advice run(const plan::Decision& decision) {
    Advice advice;
    advice.tests_considered = outlook_.rough.size();
    advice.alike = outlook_.alike;
    tell(advice, decision);
    // Whoever leaves it needs no minutes but for putting back.
    const bool takes_time = advice.kind == Advice::Kind::kTest || advice.kind == Advice::Kind::kRepair;
    advice.none_fits = decision.none_fits && takes_time;
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

  // The same reading with red and black exchanged is no other way to go on.
  bool same_probes(const plan::Action& a, const plan::Action& b) const {
    if (a.kind != plan::ActionKind::kTest || b.kind != plan::ActionKind::kTest) return false;
    const auto what = [&](const plan::Action& action) {
      return outlook_.candidates[outlook_.tests[outlook_.built.test_of[action.index]].candidate].what;
    };
    evidence::Observable turned = what(a);
    std::swap(turned.red, turned.black);
    return !turned.red.is_none() && turned == what(b);
  }

  void tell(Advice& advice, const plan::Decision& decision) {
    const candidates::BuiltProblem& built = outlook_.built;
    advice.expected_minutes = std::max(0.0, decision.expected_minutes - built.shift_minutes);
    advice.lower_bound_minutes = std::max(0.0, decision.lower_bound - built.shift_minutes);
    advice.exact = decision.exact;
    advice.gap = gap_of(advice);
    advice.setup_minutes = decision.setup_minutes;
    advice.minutes = decision.action_minutes;
    for (const plan::SetupStep& step : decision.steps) tell_step(advice, built.acts[step.setup.index()], step);
    std::vector<plan::Action> listed{decision.action};
    for (const plan::Candidate& c : decision.candidates) {
      const auto same = [&](const plan::Action& other) { return c.action == other || same_probes(c.action, other); };
      if (std::any_of(listed.begin(), listed.end(), same)) continue;
      listed.push_back(c.action);
      advice.alternatives.push_back(
          {action_name(c.action), std::max(0.0, c.expected_minutes - built.shift_minutes), c.action.kind});
    }
    if (decision.action.kind == plan::ActionKind::kTest)
      tell_test(advice, outlook_.tests[built.test_of[decision.action.index]]);
    if (decision.action.kind == plan::ActionKind::kRepair && decision.action.index == built.leave) tell_leave(advice);
    if (decision.action.kind == plan::ActionKind::kRepair && decision.action.index != built.leave)
      tell_repair(advice, built, decision.action.index);
    for (const plan::SetupStep& step : decision.steps)
      for (const std::string& caution : place_cautions(session_.drawing(), built.acts[step.setup.index()]))
        if (std::find(advice.cautions.begin(), advice.cautions.end(), caution) == advice.cautions.end())
          advice.cautions.push_back(caution);
  }

  static double gap_of(const Advice& advice) {
    if (advice.exact || advice.expected_minutes <= advice.lower_bound_minutes) return 0.0;
    return advice.lower_bound_minutes > 0.0 ? advice.expected_minutes / advice.lower_bound_minutes - 1.0
                                            : std::numeric_limits<double>::infinity();
  }

  void tell_leave(Advice& advice) const {
    advice.kind = Advice::Kind::kLeave;
    advice.minutes = 0.0;
    advice.return_minutes = return_minutes(session_.job.kit);
    for (const candidates::SuspectRows& suspect : outlook_.suspects)
      if (suspect.mended) advice.repair_probability += suspect.probability;
    std::vector<fault::RepairId> open = session_.repaired;
    for (const std::vector<fault::RepairId>& repairs : outlook_.built.repairs)
      open.insert(open.end(), repairs.begin(), repairs.end());
    advice.cautions = leaving_cautions(session_.loom(), open);
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
    if (candidate.before)
      advice.read_before = evidence::format_seen(session_.drawing(), candidate.what, *candidate.before);
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

  Session& session_;
  const Outlook& outlook_;
};

}  // namespace

bool proof_is_next(Context& context, Session& session) {
  if (session.repaired.empty()) return false;
  const bool looked = !session.evidence.empty() && session.evidence.back().repaired.size() == session.repaired.size();
  return !looked || session.engine->update(session.evidence, context.cancel).fixed > kProvenAbove;
}

Advice advice_for(Session& session, const Outlook& outlook, const plan::Decision& decision) {
  return AdviceTeller(session, outlook).run(decision);
}

Advice advise(Context& context, Session& session, double within_minutes) {
  if (proof_is_next(context, session)) {
    Advice advice;
    advice.kind = Advice::Kind::kProve;
    return advice;
  }
  const Outlook outlook = look_ahead(context, session, within_minutes, Mended::kWeighed);
  plan::DecideOptions options;
  options.cancel = context.cancel;
  options.first_minutes = within_minutes;
  return advice_for(session, outlook, plan::decide(outlook.built.problem, options));
}

}  // namespace halfsplit::app
