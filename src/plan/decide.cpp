// SPDX-License-Identifier: Apache-2.0
// Order of work: roll out the likeliest ways to start; if the problem is small or free of uncertain readings, try to
// settle it exactly below that cost; else improve by looking further ahead until the work is spent or the bound is met.
#include "plan/decide.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/check.h"
#include "plan/exact.h"
#include "plan/planner.h"

namespace halfsplit::plan {

namespace {

// Less work, coarser rollouts: about 1e-3 at the usual budget.
LookaheadOptions lookahead_options(const DecideOptions& options) {
  LookaheadOptions out;
  out.floor = std::clamp(100.0 / static_cast<double>(options.work_budget + 1), 1e-6, 0.02);
  return out;
}

}  // namespace

Planner::Planner(const Problem& problem)
    : problem_(&problem), model_(make_model(problem)), survey_(model_, problem.initial_setups), relaxed_(model_) {}

Decision Planner::decide(const Situation& here, const DecideOptions& options) {
  const BeliefStack::Mark mark = survey_.stack().mark();
  const Start start = start_at(survey_, here);
  Lookahead lookahead(survey_, relaxed_, lookahead_options(options), options.cancel);
  lookahead.start(start, options.work_budget);
  Decision decision;
  if (!lookahead.has_steps()) {
    decision = end_of_job(here, start);
  } else {
    const bool settled = !lookahead.finished() && try_exact(here, start, lookahead, options, decision);
    if (!settled) {
      const std::size_t spent = std::min(options.work_budget, lookahead.work() + decision.work);
      lookahead.improve(options.work_budget - spent);
      decision.expected_minutes = lookahead.expected_minutes();
      decision.lower_bound = lookahead.lower_bound();
      decision.exact = lookahead.finished();
      decision.action = lookahead.best();
    }
    list_candidates(lookahead, options, decision);
    if (std::isfinite(options.first_minutes)) fit_in(here, options, decision);
  }
  decision.work += lookahead.work();
  describe_action(here, decision);
  survey_.stack().release(mark);
  return decision;
}

Decision Planner::end_of_job(const Situation& here, const Start& start) const {
  Decision decision;
  decision.expected_minutes = minutes_of(*problem_, here, Action{});
  decision.lower_bound = decision.expected_minutes;
  decision.exact = true;
  decision.unresolved = model_.goal == Goal::kIsolate && !survey_.is_isolated(start.belief);
  decision.candidates.push_back({Action{}, decision.expected_minutes, decision.lower_bound});
  return decision;
}

// True when the best plan is known. The states it may visit follow from the work left, of which a part is kept for
// looking ahead in case they do not suffice.
bool Planner::try_exact(const Situation& here, const Start& start, const Lookahead& lookahead,
                        const DecideOptions& options, Decision& decision) {
  constexpr std::size_t kFewFaults = 6;
  constexpr std::size_t kStateWork = 8;
  constexpr std::size_t kShare = 3;
  const bool sure =
      std::all_of(start.tests.begin(), start.tests.end(), [&](std::uint16_t t) { return model_.tests[t].sure; });
  if (!sure && start.belief.count > kFewFaults) return false;
  const std::size_t left = options.work_budget - std::min(options.work_budget, decision.work + lookahead.work());
  const std::size_t per_state = kStateWork + start.tests.size() / 6;
  survey_.seen().clear();
  ExactSearch search(survey_, std::min(options.exact_states, left / kShare / per_state), options.cancel);
  const ExactResult result = search.solve(here, lookahead.expected_minutes());
  decision.work += result.states * per_state;
  if (!result.complete) return false;
  const Action same = lookahead.best();
  const bool best_already = std::find(result.first.begin(), result.first.end(), same) != result.first.end();
  decision.action = best_already ? same : result.first.front();
  decision.expected_minutes = result.minutes;
  decision.lower_bound = result.minutes;
  decision.exact = true;
  return true;
}

// The action first, then the others by the cost found; an exact cost lifts every bound.
void Planner::list_candidates(const Lookahead& lookahead, const DecideOptions& options, Decision& decision) const {
  decision.candidates.push_back({decision.action, decision.expected_minutes, decision.lower_bound});
  for (const LookaheadStep& way : lookahead.steps()) {
    const Action action{way.step.kind, way.step.index};
    if (action == decision.action || !std::isfinite(way.expected_minutes)) continue;
    const bool all = std::isfinite(options.first_minutes);
    if (decision.candidates.size() >= options.shown_candidates && !all) break;
    const double low = std::min(way.expected_minutes, std::max(way.lower_bound, decision.lower_bound));
    decision.candidates.push_back({action, way.expected_minutes, low});
  }
}

void Planner::fit_in(const Situation& here, const DecideOptions& options, Decision& decision) const {
  const auto fits = [&](const Candidate& c) { return minutes_of(*problem_, here, c.action) <= options.first_minutes; };
  if (fits(decision.candidates.front())) {
    std::erase_if(decision.candidates, [&](const Candidate& c) { return !fits(c); });
  } else {
    const auto test = std::find_if(decision.candidates.begin(), decision.candidates.end(),
                                   [&](const Candidate& c) { return c.action.kind == ActionKind::kTest && fits(c); });
    if (test != decision.candidates.end()) {
      std::rotate(decision.candidates.begin(), test, test + 1);
      decision.action = decision.candidates.front().action;
      decision.expected_minutes = decision.candidates.front().expected_minutes;
      decision.exact = false;
      std::erase_if(decision.candidates, [&](const Candidate& c) { return !fits(c); });
    } else {
      decision.none_fits = true;
    }
  }
  if (decision.candidates.size() > options.shown_candidates) decision.candidates.resize(options.shown_candidates);
}

void Planner::describe_action(const Situation& here, Decision& decision) const {
  Decision way = way_to(*problem_, here, decision.action);
  decision.steps = std::move(way.steps);
  decision.setup_minutes = way.setup_minutes;
  decision.action_minutes = way.action_minutes;
  decision.proof_steps = std::move(way.proof_steps);
  decision.proof_minutes = way.proof_minutes;
}

Decision decide(const Problem& problem, const DecideOptions& options) {
  HS_CHECK(validate(problem).ok(), "decide() takes a valid problem");
  return Planner(problem).decide(start_of(problem), options);
}

}  // namespace halfsplit::plan
