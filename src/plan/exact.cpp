// SPDX-License-Identifier: Apache-2.0
// Depth-first AND/OR search with a memo (transpositions) and lower bounds (branch and bound); Martelli and Montanari
// 1973 for the additive AND/OR form, Pattipati and Alexandridis 1990 for its use on test sequencing. State: the belief
// (by its weights), the setups, the uncertain tests done; the other tests and repairs left follow from these. Values
// are per unit of mass, so a place is one state however likely it is. A value at or above its limit is stored as the
// lower bound it is (fail-soft). Left out, safely: tests that tell nothing here, tests another one dominates
// (model.cpp), and of two sure tests that part the faults left in the same way and end in the same setups, the dearer.
// Of two uncertain tests with the same rows and the same conditions the dearer is not tried first: a plan that starts
// with it costs no more when the two change places throughout (the difference is saved for certain now and paid at most
// once later).
#include "plan/exact.h"

#include <algorithm>

namespace halfsplit::plan {

namespace {
constexpr double kTie = 1e-9;
constexpr double kNever = std::numeric_limits<double>::infinity();
}  // namespace

ExactSearch::ExactSearch(Survey& survey, std::size_t max_states, const base::CancelToken& cancel)
    : survey_(&survey), max_states_(max_states), cancel_(cancel) {}

double ExactSearch::value(const Belief& belief, SetNumber made, TestList tests, double limit) {
  return visit(belief, made, tests, limit, 0);
}

double ExactSearch::value_of(const Belief& belief, const std::vector<Step>& steps, const Step& step, double limit) {
  return step_value(belief, steps, step, limit, 0);
}

double ExactSearch::visit(const Belief& belief, SetNumber made, TestList tests, double limit, std::size_t depth) {
  const Fingerprint print = survey_->print(belief, made);
  if (const Entry* known = memo_.find(print)) {
    const double value = known->per_mass * belief.mass;
    if (known->exact || value >= limit) return value;
  }
  const Surroundings around = survey_->glance(belief, made);
  stopped_ = stopped_ || states_ >= max_states_ || cancel_.cancelled();
  const double bound = survey_->bound(belief, made, around);
  if (around.ended || bound >= limit || stopped_) return bound;
  ++states_;
  Frame& frame = frames_.at(depth);
  survey_->list(belief, made, tests, around, frame.steps);
  if (frame.steps.empty()) return belief.mass * survey_->moves().end_minutes(made);
  survey_->bound_steps(belief, around, frame.steps);
  bool exact = false;
  double value = best_of(belief, frame, limit, depth, exact);
  const double told = around.unavoidable + belief.mass * survey_->model().leak_minutes;
  if (told < value) {
    value = told;
    exact = told < limit;
  }
  if (!stopped_) memo_.put(print, {value / belief.mass, exact});
  return value;
}

double ExactSearch::best_of(const Belief& belief, Frame& frame, double limit, std::size_t depth, bool& exact) {
  std::sort(frame.steps.begin(), frame.steps.end(), [](const Step& a, const Step& b) {
    if (a.value != b.value) return a.value < b.value;
    return a.kind != b.kind ? a.kind < b.kind : a.index < b.index;
  });
  frame.parted.clear();
  double best = limit;
  double low = kNever;
  for (const Step& step : frame.steps) {
    if (step.value >= best) {
      low = std::min(low, step.value);
      break;
    }
    if (survey_->is_repeat(belief, step, frame.parted)) continue;
    const double value = step_value(belief, frame.steps, step, best, depth);
    if (stopped_) return low;
    low = std::min(low, value);
    best = std::min(best, value);
  }
  exact = low < limit;
  return low;
}

double ExactSearch::step_value(const Belief& belief, const std::vector<Step>& steps, const Step& step, double limit,
                               std::size_t depth) {
  Frame& frame = frames_.at(depth);
  const BeliefStack::Mark mark = survey_->stack().mark();
  list_children(belief, step, frame.children);
  double total = step.minutes * belief.mass;
  double left = belief.mass;
  for (const Child& child : frame.children) {
    total += child.low;
    left -= child.belief.mass;
  }
  if (step.kind == ActionKind::kRepair) total += std::max(0.0, left) * survey_->moves().end_minutes(step.to);
  if (step.kind == ActionKind::kTest && !survey_->model().leak.empty()) total += told_outright(belief, step);
  remaining_tests(steps, step, frame.tests);
  for (const Child& child : frame.children) {
    if (total >= limit || stopped_) break;
    const bool uncertain = step.kind == ActionKind::kTest && !survey_->model().tests[step.index].sure;
    if (uncertain) survey_->seen().push_back({step.index, static_cast<std::uint8_t>(child.outcome)});
    total += visit(child.belief, step.to, frame.tests, limit - (total - child.low), depth + 1) - child.low;
    if (uncertain) survey_->seen().pop_back();
  }
  survey_->stack().release(mark);
  return total;
}

// What the job costs from here on where a relaxed test tells the fault itself.
double ExactSearch::told_outright(const Belief& belief, const Step& step) {
  const Model& model = survey_->model();
  double sum = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    const double leak = model.leak[step.index * model.fault_count + belief.fault[i]];
    if (leak > 0.0) sum += belief.weight[i] * leak * survey_->bounds().unavoidable(belief.fault[i], step.to);
  }
  return sum;
}

// Every outcome that leaves the job going, with the least it can cost.
void ExactSearch::list_children(const Belief& belief, const Step& step, std::vector<Child>& children) {
  children.clear();
  if (step.kind == ActionKind::kRepair) {
    const Belief rest = survey_->stack().push_unmended(belief, step.index);
    if (rest.count > 0) children.push_back({rest, kNotMended, survey_->bounds().unavoidable(rest, step.to)});
    return;
  }
  for (std::size_t o = 0; o < survey_->model().tests[step.index].outcomes; ++o) {
    const Belief part = survey_->stack().push_outcome(belief, step.index, o);
    if (part.count > 0) children.push_back({part, o, survey_->bounds().unavoidable(part, step.to)});
  }
}

// The first steps of best plans, each tried to just beyond the best so far; dominated tests may tie here, so they are
// tried too.
ExactResult ExactSearch::solve(const Situation& from, double known_minutes) {
  const Start start = start_at(*survey_, from);
  const Surroundings around = survey_->glance(start.belief, start.made);
  std::vector<Step> steps;
  survey_->list(start.belief, start.made, start.all_tests, around, steps);
  ExactResult result;
  result.minutes = around.unavoidable;
  result.first = {Action{}};
  if (!steps.empty()) {
    survey_->bound_steps(start.belief, around, steps);
    try_first_steps(start.belief, steps, known_minutes, result);
  }
  result.complete = !stopped_;
  result.states = states_;
  return result;
}

void ExactSearch::try_first_steps(const Belief& belief, const std::vector<Step>& steps, double known_minutes,
                                  ExactResult& result) {
  std::vector<Step> later;  // those that are left for below
  for (const Step& step : steps) {
    if (step.kind == ActionKind::kRepair || !survey_->model().tests[step.index].dominated) later.push_back(step);
  }
  std::vector<Step> order = steps;
  std::stable_sort(order.begin(), order.end(), [](const Step& a, const Step& b) { return a.value < b.value; });
  double best = known_minutes;
  for (Step& step : order) {
    if (step.value <= best + kTie) step.value = step_value(belief, later, step, best + 2.0 * kTie, 0);
    best = std::min(best, step.value);
  }
  result.minutes = kNever;
  for (const Step& step : order) result.minutes = std::min(result.minutes, step.value);
  result.first.clear();
  for (const Step& step : order) {
    if (step.value <= result.minutes + kTie) result.first.push_back({step.kind, step.index});
  }
  std::sort(result.first.begin(), result.first.end(),
            [](const Action& a, const Action& b) { return a.kind != b.kind ? a.kind < b.kind : a.index < b.index; });
}

ExactResult solve_exact(const Problem& problem, const Situation& from, const ExactOptions& options) {
  const Model model = make_model(problem);
  Survey survey(model, from.made);
  ExactSearch search(survey, options.max_states, options.cancel);
  return search.solve(from, options.known_minutes);
}

ExactResult solve_exact(const Problem& problem, const ExactOptions& options) {
  return solve_exact(problem, start_of(problem), options);
}

}  // namespace halfsplit::plan
