// SPDX-License-Identifier: Apache-2.0
// Most bits per cost: the usual rule of test sequencing (Johnson 1960; Pattipati and Alexandridis 1990; from memory). p
// over c: Kadane and Simon 1977. Thrift is ours: it counts as cost only what a step adds to the unavoidable minutes,
// which makes a repair comparable with a test (a repair is wasted only if it fails), and it lets tests behind one setup
// share the way.
#include "plan/greedy.h"

#include <algorithm>
#include <limits>

namespace halfsplit::plan {

namespace {

constexpr double kSlack = 1.0 + 1e-12;  // a better rate is better by more than rounding

// Highest rate(step) of one kind; ties to the first. nullptr when none is above 0.
template <class RateOf>
const Step* best_of_kind(const std::vector<Step>& steps, ActionKind kind, RateOf rate) {
  const Step* best = nullptr;
  double best_rate = 0.0;
  for (const Step& step : steps) {
    if (step.kind != kind) continue;
    const double own = rate(step);
    if (own <= best_rate * kSlack) continue;
    best = &step;
    best_rate = own;
  }
  return best;
}

double per_minute(double gain, double minutes) {
  return minutes > 0.0 ? gain / minutes : (gain > 0.0 ? std::numeric_limits<double>::max() : 0.0);
}

const Step* choose(Survey& survey, const Belief& belief, const Surroundings& around, GreedyRule rule,
                   std::vector<Step>& steps) {
  if (rule == GreedyRule::kThrift) return Thrift().pick(survey.model(), belief.mass, around.class_bits, steps);
  const Step* test = nullptr;
  if (rule == GreedyRule::kEdges) {
    test = best_of_kind(steps, ActionKind::kTest, [&](const Step& step) {
      return per_minute(survey.gain().edges_cut(step.index), step.minutes);
    });
  } else if (rule == GreedyRule::kBits || survey.model().goal == Goal::kIsolate) {
    test = best_of_kind(steps, ActionKind::kTest, [](const Step& step) { return per_minute(step.bits, step.minutes); });
  }
  if (test != nullptr) return test;
  const Step* repair = best_of_kind(steps, ActionKind::kRepair, [&](const Step& step) {
    return per_minute(survey.gain().mended_mass(step.index), step.minutes);
  });
  return repair != nullptr || steps.empty() ? repair : &steps.front();
}

}  // namespace

// Twice nothing beats nothing: 0 bits for 0 minutes has no rate.
bool Thrift::Rate::beats(const Rate& other) const {
  const double own = bits * other.waste;
  const double others = other.bits * waste;
  if (own == 0.0 && others == 0.0) return bits > other.bits;
  return own > others * kSlack;
}

const Step* Thrift::pick(const Model& model, double mass, double class_bits, std::vector<Step>& steps) {
  const Step* best = nullptr;
  Rate best_rate{0.0, 1.0};
  order_.clear();
  for (Step& step : steps) {
    const Rate rate{step.bits, step.waste};
    if (best == nullptr || rate.beats(best_rate)) {
      best = &step;
      best_rate = rate;
    }
    if (step.kind != ActionKind::kTest || step.bits <= 0.0) continue;
    step.value = model.tests[step.index].minutes * mass;  // without the way there
    order_.push_back(&step);
  }
  std::sort(order_.begin(), order_.end(), [](const Step* a, const Step* b) {
    if (a->to != b->to) return a->to < b->to;
    const double left = a->bits * b->value;
    const double right = b->bits * a->value;
    return left != right ? left > right : a->index < b->index;
  });
  for (std::size_t begin = 0; begin < order_.size();) {
    std::size_t end = begin + 1;
    while (end < order_.size() && order_[end]->to == order_[begin]->to) ++end;
    if (end - begin > 1) try_group(begin, end, class_bits, best_rate, best);
    begin = end;
  }
  return best;
}

// Tests that end in the same setups, best rate first: the way there once, then one after the other, each telling its
// share of what the earlier ones left.
void Thrift::try_group(std::size_t begin, std::size_t end, double class_bits, Rate& best_rate, const Step*& best) {
  double left = class_bits;
  Rate group{0.0, std::max(0.0, order_[begin]->waste - order_[begin]->value)};
  for (std::size_t i = begin; i < end; ++i) {
    const double bits = order_[i]->bits * left / class_bits;
    left -= bits;
    group.bits += bits;
    group.waste += order_[i]->value;
    if (!group.beats(best_rate)) continue;
    best_rate = group;
    best = order_[begin];
  }
}

Action choose_greedy(const Problem& problem, const Situation& here, GreedyRule rule) {
  const Model model = make_model(problem);
  Survey survey(model, here.made);
  const Start start = start_at(survey, here);
  const Surroundings around = survey.glance(start.belief, start.made);
  std::vector<Step> steps;
  survey.list(start.belief, start.made, start.all_tests, around, steps);
  const Step* step = choose(survey, start.belief, around, rule, steps);
  return step == nullptr ? Action{} : Action{step->kind, step->index};
}

}  // namespace halfsplit::plan
