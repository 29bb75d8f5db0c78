// SPDX-License-Identifier: Apache-2.0
#include "app/advice.h"

#include <algorithm>
#include <map>
#include <numeric>

#include "base/check.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using candidates::Candidate;
using candidates::SuspectRows;
using candidates::Test;

constexpr std::size_t kMostSuspects = 28;
constexpr double kMassCovered = 0.995;
constexpr std::size_t kMostRowsEach = 5;
constexpr double kLeastRowShare = 0.03;
constexpr std::size_t kMostTests = 40;
constexpr std::size_t kMostLookedAt = 80;  // candidates predicted at every severity
constexpr double kProveAbove = 0.6;        // chance of being mended from which on proof comes first

// The leading suspects and the rows that carry them; what is left over joins "not on this drawing".
std::vector<SuspectRows> leading(BeliefEngine& engine, const Belief& belief,
                                 const std::vector<fault::RepairId>& repaired) {
  std::vector<SuspectRows> suspects;
  double covered = 0.0;
  double beyond = 0.0;
  double skipped = 0.0;
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    const std::vector<fault::RepairId> repairs = engine.repairs_of(belief, suspect);
    const bool mended = !repairs.empty() && std::all_of(repairs.begin(), repairs.end(), [&](fault::RepairId r) {
      return std::find(repaired.begin(), repaired.end(), r) != repaired.end();
    });
    if (mended) {
      skipped += suspect.probability;
      continue;
    }
    if (repairs.empty()) {
      beyond += suspect.probability;
      continue;
    }
    if (suspects.size() >= kMostSuspects || covered > kMassCovered * (1.0 - skipped)) {
      beyond += suspect.probability;
      continue;
    }
    covered += suspect.probability;
    SuspectRows rows;
    rows.name = engine.suspect_name(suspect);
    rows.probability = suspect.probability;
    for (const fault::RepairId r : repairs)
      if (std::find(repaired.begin(), repaired.end(), r) == repaired.end()) rows.repairs.push_back(r);
    std::vector<std::size_t> order = suspect.rows;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return belief.posterior.row[a] > belief.posterior.row[b]; });
    double sum = 0.0;
    for (std::size_t i = 0; i < order.size() && i < kMostRowsEach; ++i) {
      const double share = belief.posterior.row[order[i]] / std::max(suspect.probability, 1e-300);
      if (i > 0 && share < kLeastRowShare) break;
      rows.rows.emplace_back(order[i], share);
      sum += share;
    }
    for (auto& row : rows.rows) row.second /= sum;
    suspects.push_back(std::move(rows));
  }
  SuspectRows other;
  other.name = "not on this drawing";
  other.probability = std::max(beyond, 1e-6);
  suspects.push_back(std::move(other));
  double total = 0.0;
  for (const SuspectRows& s : suspects) total += s.probability;
  for (SuspectRows& s : suspects) s.probability /= total;
  return suspects;
}

// Rows renumbered into a small table of their own: cases of the leading suspects, then the vehicle without a fault.
std::vector<predict::Case> small_cases(BeliefEngine& engine, const Belief& belief,
                                       const std::vector<fault::RepairId>& repaired,
                                       std::vector<SuspectRows>& suspects) {
  std::vector<predict::Case> cases;
  std::map<std::size_t, std::size_t> place;
  for (SuspectRows& suspect : suspects)
    for (auto& [row, weight] : suspect.rows) {
      const auto [at, fresh] = place.try_emplace(row, cases.size());
      if (fresh) cases.push_back(engine.case_of(belief.rows[row], repaired));
      row = at->second;
    }
  cases.emplace_back();
  return cases;
}

std::vector<std::vector<std::string>> find_alike(const std::vector<SuspectRows>& suspects,
                                                 const std::vector<Test>& tests) {
  std::vector<double> probabilities;
  std::vector<infer::Outcomes> outcomes;
  for (std::size_t s = 0; s + 1 < suspects.size(); ++s) {
    if (suspects[s].probability < 0.005) continue;
    probabilities.push_back(suspects[s].probability);
    infer::Outcomes all;
    for (const Test& test : tests) {
      const auto begin = test.chance.begin() + static_cast<std::ptrdiff_t>(s * test.outcomes.size());
      all.emplace_back(begin, begin + static_cast<std::ptrdiff_t>(test.outcomes.size()));
    }
    outcomes.push_back(std::move(all));
  }
  std::vector<std::vector<std::string>> alike;
  if (tests.empty()) return alike;
  for (const infer::AlikeGroup& group : infer::group_alike(probabilities, outcomes)) {
    if (group.members.size() < 2) continue;
    std::vector<std::string> names;
    for (const std::size_t member : group.members) names.push_back(suspects[member].name);
    alike.push_back(std::move(names));
  }
  return alike;
}

class Adviser {
 public:
  Adviser(Context& context, Session& session)
      : context_(context),
        session_(session),
        engine_(*session.engine),
        belief_(engine_.update(session.evidence, context.cancel)),
        roll_(roll_of(session.job.kit)),
        input_(generate_input(session, roll_, belief_)) {}

  Advice run() {
    Advice advice;
    const bool looked =
        !session_.evidence.empty() && session_.evidence.back().repaired.size() == session_.repaired.size();
    if (!session_.repaired.empty() && (!looked || belief_.fixed > kProveAbove)) {
      advice.kind = Advice::Kind::kProve;
      return advice;
    }
    suspects_ = leading(engine_, belief_, session_.repaired);
    candidates_ = candidates::generate(input_);
    drop_skipped();
    std::vector<Test> roughly;
    std::vector<Test> tests = predict_tests(roughly);
    advice.tests_considered = roughly.size();
    advice.alike = find_alike(suspects_, roughly);
    const std::vector<Test> chosen = candidates::choose_tests(std::move(tests), kMostTests);
    const candidates::BuiltProblem built =
        candidates::build_problem({input_, candidates_, chosen, suspects_, session_.job.kit.money_per_hour});
    const base::Result<base::Done> valid = plan::validate(built.problem);
    HS_CHECK(valid.ok(), "an invalid planning problem: " + (valid.ok() ? "" : valid.diagnostics().front().message));
    plan::DecideOptions options;
    options.cancel = context_.cancel;
    const plan::Decision decision = plan::decide(built.problem, options);
    tell(advice, built, chosen, decision);
    return advice;
  }

 private:
  void drop_skipped() {
    if (session_.job.skipped.empty()) return;
    std::erase_if(candidates_, [&](const Candidate& c) {
      const std::string what = name_of(c.what);
      return std::find(session_.job.skipped.begin(), session_.job.skipped.end(), what) != session_.job.skipped.end();
    });
  }

  std::string name_of(const evidence::Observable& what) const {
    return evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
  }

  // All candidates by each suspect's likeliest severity, then the most telling ones by all its severities.
  std::vector<Test> predict_tests(std::vector<Test>& roughly) {
    std::vector<std::size_t> all(candidates_.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    std::vector<SuspectRows> likeliest = suspects_;
    for (SuspectRows& suspect : likeliest)
      if (!suspect.rows.empty()) suspect.rows = {{suspect.rows.front().first, 1.0}};
    roughly = predict_tests(all, likeliest);
    std::vector<std::size_t> telling;
    for (const Test& test : candidates::choose_tests(roughly, kMostLookedAt)) telling.push_back(test.candidate);
    std::sort(telling.begin(), telling.end());
    return predict_tests(telling, suspects_);
  }

  std::vector<Test> predict_tests(const std::vector<std::size_t>& which, std::vector<SuspectRows> suspects) {
    const std::vector<predict::Case> cases = small_cases(engine_, belief_, session_.repaired, suspects);
    std::vector<evidence::Observable> observables;
    for (const std::size_t i : which) observables.push_back(candidates_[i].what);
    const evidence::ResponseTable table = engine_.campaign().predict(cases, observables, context_.cancel);
    std::vector<Test> tests;
    for (std::size_t c = 0; c < which.size(); ++c) {
      const Candidate& candidate = candidates_[which[c]];
      Test test = candidates::make_test(session_.drawing(), candidate, which[c], table, c, suspects, cases.size() - 1,
                                        engine_.noise());
      test.rough_minutes = candidates::rough_minutes(input_, candidate);
      tests.push_back(std::move(test));
    }
    return tests;
  }

  std::string action_name(const candidates::BuiltProblem& built, const std::vector<Test>& chosen,
                          const plan::Action& action) const {
    if (action.kind == plan::ActionKind::kTest)
      return name_of(candidates_[chosen[built.test_of[action.index]].candidate].what);
    if (action.kind == plan::ActionKind::kRepair) return built.problem.repairs[action.index].name;
    return "stop";
  }

  void tell(Advice& advice, const candidates::BuiltProblem& built, const std::vector<Test>& chosen,
            const plan::Decision& decision) {
    advice.expected_minutes = decision.expected_minutes;
    advice.lower_bound_minutes = decision.lower_bound;
    advice.exact = decision.exact;
    advice.gap = decision.gap();
    advice.setup_minutes = decision.setup_minutes;
    advice.minutes = decision.action_minutes;
    for (const plan::SetupStep& step : decision.steps) tell_step(advice, built.acts[step.setup.index()], step);
    for (const plan::Candidate& c : decision.candidates)
      if (!(c.action == decision.action))
        advice.alternatives.push_back({action_name(built, chosen, c.action), c.expected_minutes});
    if (decision.action.kind == plan::ActionKind::kTest)
      tell_test(advice, chosen[built.test_of[decision.action.index]]);
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
    const Candidate& candidate = candidates_[test.candidate];
    advice.kind = Advice::Kind::kTest;
    advice.test = candidate.what;
    advice.what = name_of(candidate.what);
    advice.long_lead = candidate.long_lead;
    advice.bits = test.bits;
    if (const std::string tool = tool_caution(candidate.what.kind); !tool.empty()) advice.cautions.push_back(tool);
    for (const circuit::PointId p : {candidate.what.red, candidate.what.black})
      if (!p.is_none())
        for (const std::string& caution : cautions_at(session_.drawing(), session_.loom().netlist.points[p.index()]))
          if (std::find(advice.cautions.begin(), advice.cautions.end(), caution) == advice.cautions.end())
            advice.cautions.push_back(caution);
    // What stays dangerous while it is in force is said again at every test.
    for (const candidates::Act& act : candidate.needs) {
      if (!candidates::is_done(session_.state, act) || act.kind != candidates::Act::Kind::kSetup) continue;
      const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
      if (!record.caution.empty()) advice.cautions.push_back(record.name + ": " + record.caution);
    }
    for (std::size_t o = 0; o < test.outcomes.size(); ++o) {
      AdviceOutcome outcome;
      outcome.outcome = test.outcomes[o];
      for (std::size_t s = 0; s < suspects_.size(); ++s) {
        const double p = suspects_[s].probability * test.chance[s * test.outcomes.size() + o];
        outcome.chance += p;
        outcome.suspects.emplace_back(suspects_[s].name, p);
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
      advice.repair_probability += suspects_[f.index()].probability;
    for (const fault::RepairId id : advice.repairs) {
      const fault::Repair& record = session_.loom().universe.repairs[id.index()];
      advice.part_money += record.part_money;
      advice.minutes = built.problem.repairs[index].minutes;
      const std::string danger = hazard_caution(candidates::hazard_of(session_.drawing(), record.item));
      if (!danger.empty()) advice.cautions.push_back(danger);
      if (record.place.is_none()) continue;
      const circuit::Place& place = session_.drawing().places[record.place.index()];
      if (!place.caution.empty()) advice.cautions.push_back(place.caution);
    }
  }

  Context& context_;
  Session& session_;
  BeliefEngine& engine_;
  const Belief& belief_;
  candidates::Roll roll_;
  candidates::GenerateInput input_;
  std::vector<SuspectRows> suspects_;
  std::vector<Candidate> candidates_;
};

}  // namespace

std::string hazard_caution(circuit::Hazard hazard) {
  switch (hazard) {
    case circuit::Hazard::kNone:
      return "";
    case circuit::Hazard::kBrakes:
      return "Brake circuit: nothing bypassed here may be driven on the road; chock the wheels, mind stored air and "
             "spring chambers.";
    case circuit::Hazard::kSteering:
      return "Steering circuit: nothing bypassed here may be driven on the road.";
    case circuit::Hazard::kAirbag:
      return "Airbag or pretensioner circuit: never an ohmmeter or a test lamp; follow the maker's power-down and "
             "waiting time.";
    case circuit::Hazard::kHighVoltage:
      return "High voltage (orange cables): stop. Qualified people only.";
    case circuit::Hazard::kDangerousGoods:
      return "Dangerous goods vehicle: no sparks, no live work; follow the site's rules.";
  }
  return "";
}

std::string tool_caution(evidence::Kind kind) {
  if (kind == evidence::Kind::kHeat)
    return "Hot air: not near fuel, gas, batteries that charge, tyres or airbags. Keep off at a hand's width and "
           "moving; "
           "insulation and plug housings bear about 80 degC, no more.";
  if (kind == evidence::Kind::kCool)
    return "Cold spray often burns and freezes skin: no flame, no spark, nothing hot near it; eyes and hands covered; "
           "not on hot glass.";
  return "";
}

std::vector<std::string> cautions_at(const circuit::Loom& loom, const circuit::Point& point) {
  std::vector<std::string> cautions;
  const auto add = [&](const std::string& text) {
    if (!text.empty() && std::find(cautions.begin(), cautions.end(), text) == cautions.end()) cautions.push_back(text);
  };
  add(hazard_caution(point.hazard));
  if (!point.connector.is_none()) add(loom.connectors[point.connector.index()].caution);
  if (!point.part.is_none()) add(loom.parts[point.part.index()].caution);
  if (!point.module.is_none()) add(loom.modules[point.module.index()].caution);
  if (!point.place.is_none()) add(loom.places[point.place.index()].caution);
  return cautions;
}

Advice advise(Context& context, Session& session) { return Adviser(context, session).run(); }

}  // namespace halfsplit::app
