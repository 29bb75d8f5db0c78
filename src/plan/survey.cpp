// SPDX-License-Identifier: Apache-2.0
// Waste: what a step adds to the least possible cost of the job, knowing the fault. Raising the cab wastes nothing for
// those suspects whose repair needs the cab raised, and a round trip for the others; a repair wastes its minutes only
// where it fails. The sum of the wastes along a plan is exactly its cost above the unavoidable minutes at its start.
#include "plan/survey.h"

#include <algorithm>
#include <array>
#include <bit>

#include "base/check.h"

namespace halfsplit::plan {

namespace {
constexpr double kTells = 1e-12;  // bits per mass below this are rounding
}

Survey::Survey(const Model& model, const SetupSet& made)
    : model_(&model),
      moves_(model.setups, model.conditions, model.undo_at_end),
      start_(moves_.number_of(made)),
      bounds_(model, moves_),
      stack_(model),
      gain_(model) {}

bool Survey::is_isolated(const Belief& belief) const {
  if (belief.count <= 1) return true;
  const FaultNumber first = belief.fault[0];
  for (std::uint32_t i = model_->repairs_begin[first]; i < model_->repairs_begin[first + 1]; ++i) {
    const std::uint16_t repair = model_->repair_list[i];
    bool all = true;
    for (std::uint32_t j = 1; j < belief.count && all; ++j) all = model_->does_mend(repair, belief.fault[j]);
    if (all) return true;
  }
  return false;
}

// Of the belief last glanced at.
double Survey::unavoidable_after(SetNumber to) {
  if (known_.size() <= to) known_.resize(std::max<std::size_t>(to + 1, 2 * known_.size()));
  if (known_[to].stamp != stamp_) {
    double sum = 0.0;
    for (const Gain::Run& run : gain_.runs()) sum += run.mass * bounds_.unavoidable(run.first, to);
    known_[to] = {stamp_, sum};
  }
  return known_[to].sum;
}

Surroundings Survey::glance(const Belief& belief, SetNumber made) {
  ++stamp_;
  Surroundings around;
  gain_.look_at(belief);
  around.class_bits = gain_.class_bits();
  around.group_bits = gain_.group_bits();
  around.unavoidable = unavoidable_after(made);
  around.ended = model_->goal == Goal::kIsolate && is_isolated(belief);
  return around;
}

double Survey::bound(const Belief& belief, SetNumber made, const Surroundings& around) {
  if (around.ended) return around.unavoidable;
  return around.unavoidable + bounds_.finding_out(belief.mass, around.group_bits, made);
}

void Survey::list(const Belief& belief, SetNumber made, TestList tests, const Surroundings& around,
                  std::vector<Step>& steps) {
  steps.clear();
  if (around.ended) return;
  add_tests(belief, made, tests, around.unavoidable, steps);
  if (model_->goal == Goal::kRepair) add_repairs(belief, made, around.unavoidable, steps);
}

double Survey::most_leak(const Belief& belief, std::size_t test) const {
  double most = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i)
    most = std::max(most, model_->leak[test * model_->fault_count + belief.fault[i]]);
  return most;
}

void Survey::add_tests(const Belief& belief, SetNumber made, TestList tests, double before, std::vector<Step>& steps) {
  for (const std::uint16_t t : tests) {
    if (!gain_.splits(t)) continue;
    double bits = gain_.bits(t);
    if (!model_->leak.empty()) bits += most_leak(belief, t) * (gain_.class_bits() - bits);
    const SetupMoves::Move move = moves_.move(made, model_->tests[t].condition);
    const double minutes = move.minutes + model_->tests[t].minutes;
    const double waste = minutes * belief.mass + unavoidable_after(move.to) - before;
    steps.push_back(
        {ActionKind::kTest, t, move.to, minutes, std::max(0.0, waste), bits > kTells * belief.mass ? bits : 0.0, 0.0});
  }
}

void Survey::add_repairs(const Belief& belief, SetNumber made, double before, std::vector<Step>& steps) {
  plans_.resize(model_->repairs.size());
  for (const std::uint16_t r : gain_.touched()) {
    const SetupMoves::Move there = moves_.move(made, model_->repairs[r].condition);
    const SetupMoves::Move check = moves_.move(there.to, model_->check_condition);
    plans_[r] = {there.minutes + model_->repairs[r].minutes + check.minutes + model_->check_minutes, check.to, 0.0};
  }
  for (const Gain::Run& run : gain_.runs()) {
    for (std::uint32_t i = model_->repairs_begin[run.first]; i < model_->repairs_begin[run.first + 1]; ++i) {
      RepairPlan& plan = plans_[model_->repair_list[i]];
      plan.mended_unavoidable += run.mass * bounds_.unavoidable(run.first, plan.to);
    }
  }
  for (const std::uint16_t r : gain_.touched()) {
    const RepairPlan& plan = plans_[r];
    const double mended = gain_.mended_mass(r);
    const double ahead = mended * moves_.end_minutes(plan.to) + unavoidable_after(plan.to) - plan.mended_unavoidable;
    const double waste = plan.minutes * belief.mass + ahead - before;
    steps.push_back({ActionKind::kRepair, r, plan.to, plan.minutes, std::max(0.0, waste), gain_.repair_bits(r), 0.0});
  }
}

void Survey::bound_steps(const Belief& belief, const Surroundings& around, std::vector<Step>& steps) {
  for (Step& step : steps) {
    const bool repair = step.kind == ActionKind::kRepair;
    const double mass = repair ? belief.mass - gain_.mended_mass(step.index) : belief.mass;
    const double bits = repair && !model_->groups_are_classes ? 0.0 : around.group_bits - step.bits;
    step.value = around.unavoidable + step.waste + bounds_.finding_out(mass, bits, step.to);
  }
}

namespace {

// The test by what it tells of these faults, whatever its outcomes are called; for uncertain tests.
Fingerprint rows_print(const Model& model, const Belief& belief, std::size_t t) {
  const std::size_t k = model.tests[t].outcomes;
  Fingerprint print{k, k};
  for (std::size_t o = 0; o < k; ++o) {
    std::uint64_t low = 7;
    std::uint64_t high = 11;
    for (std::uint32_t i = 0; i < belief.count; ++i) {
      const auto bits = std::bit_cast<std::uint64_t>(model.likelihood(t, belief.fault[i], o));
      low = (low ^ bits) * 0x9E3779B97F4A7C15ULL;
      high = (high + bits) * 0xD6E8FEB86659FD93ULL;
      low ^= low >> 29U;
      high ^= high >> 31U;
    }
    print.low += low * (low | 1U);
    print.high += high * (high | 1U);
  }
  return print;
}

}  // namespace

bool Survey::is_repeat(const Belief& belief, const Step& step, std::vector<Fingerprint>& parted) const {
  if (step.kind != ActionKind::kTest) return false;
  Fingerprint print;
  if (model_->tests[step.index].sure) {
    print = parts_print(belief, step);
  } else {
    print = rows_print(*model_, belief, step.index);
    print.low ^= (model_->tests[step.index].condition + std::uint64_t{1}) * 0xA0761D6478BD642FULL;
  }
  if (std::find(parted.begin(), parted.end(), print) != parted.end()) return true;
  parted.push_back(print);
  return false;
}

// How a sure test parts the faults left, and where it ends.
Fingerprint Survey::parts_print(const Belief& belief, const Step& step) const {
  std::array<std::uint8_t, 256> label{};
  std::uint8_t next = 0;
  Fingerprint print{step.to, step.to};
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    std::uint8_t& own = label[model_->sure_outcome[step.index * model_->fault_count + belief.fault[i]]];
    if (own == 0) own = ++next;
    print.low = (print.low ^ own) * 0x9E3779B97F4A7C15ULL;
    print.high = (print.high + own) * 0xD6E8FEB86659FD93ULL;
    print.low ^= print.low >> 29U;
    print.high ^= print.high >> 31U;
    if (!model_->leak.empty()) {
      print.low += std::bit_cast<std::uint64_t>(model_->leak[step.index * model_->fault_count + belief.fault[i]]);
    }
  }
  return print;
}

Start start_at(Survey& survey, const Situation& from) {
  std::vector<double> weights = fold_weights(survey.model(), from.weights);
  double sum = 0.0;
  for (const double weight : weights) sum += weight;
  HS_CHECK(sum > 0.0, "a plan starts where some fault is possible");
  for (double& weight : weights) weight /= sum;
  Start start;
  start.belief = survey.stack().push(weights);
  start.made = survey.moves().number_of(from.made);
  for (std::size_t t = 0; t < from.tests_left.size(); ++t) {
    if (!from.tests_left[t]) continue;
    start.all_tests.push_back(static_cast<std::uint16_t>(t));
    if (!survey.model().tests[t].dominated) start.tests.push_back(static_cast<std::uint16_t>(t));
  }
  return start;
}

void remaining_tests(const std::vector<Step>& steps, const Step& taken, std::vector<std::uint16_t>& out) {
  out.clear();
  for (const Step& step : steps) {
    if (step.kind == ActionKind::kTest && (taken.kind != ActionKind::kTest || step.index != taken.index))
      out.push_back(step.index);
  }
}

}  // namespace halfsplit::plan
