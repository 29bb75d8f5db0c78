// SPDX-License-Identifier: Apache-2.0
// A policy's cost by walking its whole tree. The choice of a step looks only at the likely faults (any choice is a
// plan); the cost counts all of them. At each place the plainest plan is tried as well and the cheaper kept (rollouts
// of two policies at once: Bertsekas, Tsitsiklis and Wu 1997), which catches the cases where mending straight away
// beats measuring.
#include "plan/rollout.h"

#include <algorithm>
#include <limits>

namespace halfsplit::plan {

namespace {
constexpr double kFaint = 1e-3;      // share of the mass below which a fault has no say in the choice
constexpr double kLittle = 3e-3;     // share below which a repair's place in the order does not matter
constexpr double kRounding = 1e-14;  // share below which mass is rounding
// Looks (lookahead.h) that a place and a closed branch cost besides its tests.
constexpr std::size_t kPlaceWork = 12;
constexpr std::size_t kPlainWork = 4;
}  // namespace

double Rollout::value(const Belief& belief, SetNumber made, TestList tests, double floor) {
  floor_ = floor;
  return visit(belief, made, tests, 0);
}

double Rollout::plain_value(const Belief& belief, SetNumber made, TestList tests) {
  work_ += kPlainWork;
  return survey_->model().goal == Goal::kRepair ? repairs_in_turn(belief, made) : tests_in_turn(belief, made, tests);
}

double Rollout::visit(const Belief& belief, SetNumber made, TestList tests, std::size_t depth) {
  const bool repair = survey_->model().goal == Goal::kRepair;
  if (!repair && survey_->is_isolated(belief)) return belief.mass * survey_->moves().end_minutes(made);
  if (belief.mass < floor_) return plain_value(belief, made, tests);
  const Fingerprint print = survey_->print(belief, made);
  if (const double* known = memo_.find(print)) return *known * belief.mass;
  work_ += kPlaceWork + tests.size();
  Step step;
  if (!choose(belief, made, tests, frames_.at(depth), step)) return belief.mass * survey_->moves().end_minutes(made);
  double value = follow(belief, tests, step, depth);
  if (repair) value = std::min(value, repairs_in_turn(belief, made));
  memo_.put(print, value / belief.mass);
  return value;
}

// False: nothing left to do tells anything.
bool Rollout::choose(const Belief& belief, SetNumber made, TestList tests, Frame& frame, Step& step) {
  const BeliefStack::Mark mark = survey_->stack().mark();
  const bool repair = survey_->model().goal == Goal::kRepair;
  const Belief likely = repair ? survey_->stack().push_likely(belief, kFaint) : belief;
  const Surroundings around = survey_->glance(likely, made);
  survey_->list(likely, made, tests, around, frame.steps);
  const Step* best = thrift_.pick(survey_->model(), likely.mass, around.class_bits, frame.steps);
  if (best != nullptr) step = *best;
  survey_->stack().release(mark);
  return best != nullptr;
}

double Rollout::follow(const Belief& belief, TestList tests, const Step& step, std::size_t depth) {
  const bool test = step.kind == ActionKind::kTest;
  std::vector<std::uint16_t>& left = frames_.at(depth).tests;
  left.clear();
  for (const std::uint16_t t : tests) {
    if (!test || t != step.index) left.push_back(t);
  }
  BeliefStack& stack = survey_->stack();
  const BeliefStack::Mark mark = stack.mark();
  double total = step.minutes * belief.mass;
  if (!test) {
    const Belief rest = stack.push_unmended(belief, step.index);
    total += (belief.mass - rest.mass) * survey_->moves().end_minutes(step.to);
    if (rest.count > 0) total += visit(rest, step.to, left, depth + 1);
    stack.release(mark);
    return total;
  }
  const ModelTest& done = survey_->model().tests[step.index];
  for (std::size_t o = 0; o < done.outcomes; ++o) {
    const Belief part = stack.push_outcome(belief, step.index, o);
    if (part.count > 0) {
      if (!done.sure) survey_->seen().push_back({step.index, static_cast<std::uint8_t>(o)});
      total += visit(part, step.to, left, depth + 1);
      if (!done.sure) survey_->seen().pop_back();
    }
    stack.release(mark);
  }
  return total;
}

double Rollout::repairs_in_turn(const Belief& belief, SetNumber from) {
  SetupSet made = survey_->moves().set(from);
  list_turns(belief);
  const auto light =
      std::partition(turns_.begin(), turns_.end(), [&](const Turn& turn) { return turn.mass > kLittle * belief.mass; });
  const auto heavy = static_cast<std::size_t>(light - turns_.begin());
  double left = belief.mass;
  double total = 0.0;
  for (std::size_t done = 0; done < turns_.size(); ++done) {
    if (done < heavy) std::swap(turns_[done], turns_[best_turn(made, done, heavy)]);
    const Turn turn = turns_[done];
    if (!(turn.mass > 0.0)) continue;
    const SetupMoves::Reached trip = trip_to(made, turn.repair);
    const double gone = shared_ ? mend_shared(belief, turn.repair) : turn.mass;
    total += left * trip.minutes + gone * survey_->moves().end_minutes(trip.to);
    left = std::max(0.0, left - gone);
    made = trip.to;
  }
  return total;
}

// The repairs that may mend, with the mass they mend; weight_ by fault, for repairs that overlap.
void Rollout::list_turns(const Belief& belief) {
  const Model& model = survey_->model();
  turns_.clear();
  place_.resize(model.repairs.size(), 0);
  weight_.resize(model.fault_count);
  shared_ = false;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    const FaultNumber f = belief.fault[i];
    weight_[f] = belief.weight[i];
    shared_ = shared_ || model.repairs_begin[f + 1] - model.repairs_begin[f] > 1;
    for (std::uint32_t j = model.repairs_begin[f]; j < model.repairs_begin[f + 1]; ++j) {
      const std::uint16_t r = model.repair_list[j];
      if (place_[r] < turns_.size() && turns_[place_[r]].repair == r) {
        turns_[place_[r]].mass += belief.weight[i];
      } else {
        place_[r] = turns_.size();
        turns_.push_back({belief.weight[i], r});
      }
    }
  }
}

// Setups, the repair, the way to the check, the check.
SetupMoves::Reached Rollout::trip_to(const SetupSet& made, std::size_t repair) const {
  const Model& model = survey_->model();
  const SetupMoves::Reached there = survey_->moves().reach(made, model.repairs[repair].condition);
  const SetupMoves::Reached check = survey_->moves().reach(there.to, model.check_condition);
  return {there.minutes + model.repairs[repair].minutes + check.minutes + model.check_minutes, check.to};
}

// Most mass per minute.
std::size_t Rollout::best_turn(const SetupSet& made, std::size_t begin, std::size_t end) const {
  std::size_t best = begin;
  double best_mass = -1.0;
  double best_minutes = 1.0;
  for (std::size_t i = begin; i < end; ++i) {
    const double minutes = trip_to(made, turns_[i].repair).minutes;
    if (turns_[i].mass * best_minutes <= best_mass * minutes) continue;
    best = i;
    best_mass = turns_[i].mass;
    best_minutes = minutes;
  }
  return best;
}

// The mass this repair takes out, where other repairs mend some of the same faults; takes it from them too.
double Rollout::mend_shared(const Belief& belief, std::size_t repair) {
  const Model& model = survey_->model();
  double gone = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    const FaultNumber f = belief.fault[i];
    if (weight_[f] == 0.0 || !model.does_mend(repair, f)) continue;
    gone += weight_[f];
    for (Turn& turn : turns_) {
      if (!model.does_mend(turn.repair, f)) continue;
      turn.mass -= weight_[f];
      if (turn.mass < kRounding * belief.mass) turn.mass = 0.0;
    }
    weight_[f] = 0.0;
  }
  return gone;
}

double Rollout::tests_in_turn(const Belief& belief, SetNumber from, TestList tests) const {
  const Model& model = survey_->model();
  SetupSet made = survey_->moves().set(from);
  double minutes = 0.0;
  for (const std::uint16_t t : tests) {
    const SetupMoves::Reached there = survey_->moves().reach(made, model.tests[t].condition);
    minutes += there.minutes + model.tests[t].minutes;
    made = there.to;
  }
  return belief.mass * (minutes + survey_->moves().end_minutes(made));
}

}  // namespace halfsplit::plan
