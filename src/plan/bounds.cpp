// SPDX-License-Identifier: Apache-2.0
// A plan ends knowing the group of the fault (model.h), so all the entropy H over groups at its start must go, bit by
// bit, into its tests and failed repairs. Put a price L (bits per minute) on time. Then for every plan
//   L * E[minutes beyond the unavoidable] >= H - log2 Z(L) - sum over tests t of G_t(L).
// Z(L): repairs alone. A chain of repairs tried in turn finds the fault at waste 0, c1, c1+c2 ...; with x = 2^(-L c)
// the
//   largest Z = 1 + x1 (1 + x2 (1 + ...)) is that of rising c (a Kraft sum over the places where the job may end; by
//   induction h(p) - (1-p) a <= log2(1 + 2^-a), so tests in between do not change it).
// G_t(L): what test t may save above its price. It is done at most once on any path, so on a part w' <= w of the
// belief;
//   information is concave and homogeneous, hence G_t = max over w' of I(w'; t) - L * cost(w'). For any outcome law q,
//   I(w'; t) <= sum of w'_f D(row_f || q), so G_t <= sum of w_f max(0, D(row_f || q) - L cost_f): any q will do, and
//   the water-filling one (no outcome above 2^(-L cost)) is best for sure tests.
// Setups that only tests need are paid on top: a setup's round trip is shared out over the tests that need it (any
// shares that add up to the whole keep the bound true: linear programming duality), for faults whose own repair does
// not need it. The quick form uses capacities (I <= capacity * mass) instead of the belief. Ours; the ingredients are
// textbook (Kraft 1949, Shannon 1948, Lagrange duality). The Huffman bound of test sequencing (Pattipati and
// Alexandridis 1990) is a relative.
#include "plan/bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halfsplit::plan {

namespace {
constexpr std::uint16_t kNobody = 0xFFFF;
constexpr std::size_t kPriceCount = 24;
}  // namespace

struct Bounds::SharpTest {
  std::size_t test = 0;
  std::vector<SetupId> setups;
  std::vector<double> minutes;  // by fault in the belief: the test with its shares
  double gain = 0.0;
};

Bounds::Bounds(const Model& model, SetupMoves& moves) : model_(&model), moves_(&moves) {
  for (const Setup& setup : model.setups) {
    round_trip_.push_back(setup.do_minutes + (model.undo_at_end ? setup.undo_minutes : 0.0));
  }
  prepare_ways();
  charge_tests();
  choose_prices();
  add_up_gains();
}

void Bounds::prepare_ways() {
  needed_by_fault_.assign(model_->fault_count, SetupSet{});
  if (model_->goal != Goal::kRepair) return;
  ways_.resize(model_->conditions.size());
  for (std::size_t c = 0; c < ways_.size(); ++c) {
    Way& way = ways_[c];
    way.wanted = moves_->wanted(static_cast<ConditionNumber>(c)) | moves_->wanted(model_->check_condition);
    way.wanted.for_each([&](SetupId s) { way.members.push_back(s); });
    constexpr std::size_t kMostMembers = 8;
    if (model_->undo_at_end && way.members.size() <= kMostMembers) {
      way.minutes.assign(std::size_t{1} << way.members.size(), std::numeric_limits<double>::quiet_NaN());
    }
  }
  for (std::size_t f = 0; f < model_->fault_count; ++f) {
    for (std::uint32_t i = model_->repairs_begin[f]; i < model_->repairs_begin[f + 1]; ++i) {
      needed_by_fault_[f] = needed_by_fault_[f] | ways_[model_->repairs[model_->repair_list[i]].condition].wanted;
    }
    needed_by_any_repair_ = needed_by_any_repair_ | needed_by_fault_[f];
  }
}

void Bounds::charge_tests() {
  for (const ModelTest& test : model_->tests) {
    needed_by_test_.push_back(moves_->wanted(test.condition));
    std::uint16_t dearest = kNobody;
    (needed_by_test_.back() - needed_by_any_repair_).for_each([&](SetupId s) {
      if (dearest == kNobody || round_trip_[s.index()] > round_trip_[dearest])
        dearest = static_cast<std::uint16_t>(s.index());
    });
    charged_to_.push_back(dearest);
  }
}

// From the price at which repairs alone are tight (towards 0) to the one at which the best test just pays.
void Bounds::choose_prices() {
  double dearest = 1e-3;
  double best_rate = 0.0;
  for (const ModelTest& test : model_->tests) {
    dearest = std::max(dearest, test.minutes);
    if (test.minutes > 0.0) best_rate = std::max(best_rate, test.capacity_bits / test.minutes);
  }
  for (const ModelRepair& repair : model_->repairs) dearest = std::max(dearest, repair.minutes);
  const double low = 0.02 / dearest;
  const double high = std::max(2.0 * low, std::max(best_rate, 8.0 / dearest));
  for (std::size_t i = 0; i < kPriceCount; ++i) {
    prices_.push_back(low * std::pow(high / low, static_cast<double>(i) / static_cast<double>(kPriceCount - 1)));
  }
}

double Bounds::log_repairs(double price) const {
  if (model_->goal == Goal::kIsolate) return 0.0;
  std::vector<double> minutes;
  for (std::size_t r = 0; r < model_->repairs.size(); ++r) {
    const auto begin = model_->mends.begin() + static_cast<std::ptrdiff_t>(r * model_->fault_count);
    if (std::find(begin, begin + static_cast<std::ptrdiff_t>(model_->fault_count), 1) ==
        begin + static_cast<std::ptrdiff_t>(model_->fault_count)) {
      continue;
    }
    minutes.push_back(model_->repairs[r].minutes + model_->check_minutes);
  }
  std::sort(minutes.begin(), minutes.end());
  double sum = 1.0;  // the last of the chain cannot fail
  for (std::size_t i = minutes.size(); i-- > 1;) sum = 1.0 + std::exp2(-price * minutes[i - 1]) * sum;
  return std::log2(sum);
}

double Bounds::unavoidable(FaultNumber fault, SetNumber made) {
  double least = 0.0;
  for (std::uint32_t i = model_->repairs_begin[fault]; i < model_->repairs_begin[fault + 1] && !ways_.empty(); ++i) {
    const ModelRepair& repair = model_->repairs[model_->repair_list[i]];
    const double minutes = repair.minutes + model_->check_minutes + way_minutes(repair.condition, made);
    if (i == model_->repairs_begin[fault] || minutes < least) least = minutes;
  }
  return least + moves_->end_minutes(made);
}

double Bounds::unavoidable(const Belief& belief, SetNumber made) {
  double sum = 0.0;
  for (std::uint32_t i = 0; i < belief.count;) {
    double mass = 0.0;
    const FaultNumber first = belief.fault[i];
    for (; i < belief.count && model_->class_of[belief.fault[i]] == model_->class_of[first]; ++i)
      mass += belief.weight[i];
    sum += mass * unavoidable(first, made);
  }
  return sum;
}

// Setups on the way to a repair, to the check and to the end, less undoing at once all that is made. With undo_at_end
// this depends only on which of the wanted setups are made: any other is undone exactly once, now or later.
double Bounds::way_minutes(ConditionNumber condition, SetNumber made) {
  Way& way = ways_[condition];
  const SetupSet& set = moves_->set(made);
  if (way.minutes.empty()) return work_out_way(condition, set);
  std::size_t which = 0;
  for (std::size_t i = 0; i < way.members.size(); ++i)
    which |= static_cast<std::size_t>(set.contains(way.members[i])) << i;
  double& minutes = way.minutes[which];
  if (std::isnan(minutes)) minutes = work_out_way(condition, set);
  return minutes;
}

double Bounds::work_out_way(ConditionNumber condition, const SetupSet& made) const {
  const SetupMoves::Reached there = moves_->reach(made, condition);
  const SetupMoves::Reached check = moves_->reach(there.to, model_->check_condition);
  return there.minutes + check.minutes + moves_->end_minutes(check.to) - moves_->end_minutes(made);
}

// Sum over tests of max(0, capacity - price * minutes); the tests charged to a setup are together worth no more than
// what is left after its round trip, until it is made.
void Bounds::add_up_gains() {
  freed_.resize(model_->setups.size());
  for (std::size_t i = 0; i < prices_.size(); ++i) {
    double free = log_repairs(prices_[i]);
    std::vector<double> by_setup(model_->setups.size(), 0.0);
    for (std::size_t t = 0; t < model_->tests.size(); ++t) {
      if (model_->tests[t].dominated) continue;
      const double gain = std::max(0.0, model_->tests[t].capacity_bits - prices_[i] * model_->tests[t].minutes);
      (charged_to_[t] != kNobody ? by_setup[charged_to_[t]] : free) += gain;
    }
    for (std::size_t s = 0; s < by_setup.size(); ++s) {
      const double closed = std::max(0.0, by_setup[s] - prices_[i] * round_trip_[s]);
      free += closed;
      if (by_setup[s] > 0.0 && freed_[s].empty()) freed_[s].assign(prices_.size(), 0.0);
      if (!freed_[s].empty()) freed_[s][i] = by_setup[s] - closed;
    }
    free_at_start_.push_back(free);
  }
}

const std::vector<double>& Bounds::free_bits(SetNumber made) {
  if (free_bits_.size() <= made) free_bits_.resize(std::max<std::size_t>(made + 1, 2 * free_bits_.size()));
  std::vector<double>& bits = free_bits_[made];
  if (bits.empty()) {
    bits = free_at_start_;
    moves_->set(made).for_each([&](SetupId s) {
      for (std::size_t i = 0; i < freed_[s.index()].size(); ++i) bits[i] += freed_[s.index()][i];
    });
  }
  return bits;
}

double Bounds::finding_out(double mass, double group_bits, SetNumber made) {
  const std::vector<double>& free = free_bits(made);
  double best = 0.0;
  for (std::size_t i = 0; i < prices_.size(); ++i) best = std::max(best, (group_bits - mass * free[i]) / prices_[i]);
  return best;
}

// Turns law_ (masses by outcome) into the water-filling law: no outcome above `ceiling` of the whole, and the whole
// shrinks to match. Where even all outcomes at the ceiling stay below 1, the even law. Returns the sum of law_.
double Bounds::fill_to(double ceiling, double mass) {
  if (ceiling * static_cast<double>(law_.size()) <= 1.0) {
    std::fill(law_.begin(), law_.end(), 1.0);
    return static_cast<double>(law_.size());
  }
  double whole = mass;
  for (int round = 0; round < 30; ++round) {
    double next = 0.0;
    for (const double share : law_) next += std::min(share, ceiling * whole);
    const bool settled = whole - next < 1e-6 * mass;
    whole = next;
    if (settled) break;
  }
  double sum = 0.0;
  for (double& share : law_) sum += share = std::min(share, ceiling * whole);
  return sum;
}

// G_t at this price and these shares, over the whole belief.
double Bounds::gain_left(const Belief& belief, const SharpTest& sharp, double price) {
  const ModelTest& test = model_->tests[sharp.test];
  const std::uint32_t k = test.outcomes;
  law_.assign(k, 0.0);
  double cost = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    cost += belief.weight[i] * sharp.minutes[i];
    for (std::uint32_t o = 0; o < k; ++o)
      law_[o] += belief.weight[i] * model_->likelihood(sharp.test, belief.fault[i], o);
  }
  const double sum = fill_to(std::exp2(-price * cost / belief.mass), belief.mass);
  double gain = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    double divergence = -price * sharp.minutes[i];
    for (std::uint32_t o = 0; o < k; ++o) {
      const double p = model_->likelihood(sharp.test, belief.fault[i], o);
      if (p > 0.0) divergence += p * std::log2(p * sum / law_[o]);
    }
    gain += belief.weight[i] * std::max(0.0, divergence);
  }
  return std::min(gain, belief.mass * test.capacity_bits);
}

// Shares start even and move to the tests that still gain; every split is a valid one.
double Bounds::sharp_at(const Belief& belief, double group_bits, std::vector<SharpTest>& tests, double price) {
  double best = 0.0;
  std::vector<double> weight_of(model_->setups.size());
  for (SharpTest& test : tests) test.gain = 1.0;
  for (int round = 0; round < 3; ++round) {
    std::fill(weight_of.begin(), weight_of.end(), 0.0);
    for (const SharpTest& test : tests) {
      for (const SetupId s : test.setups) weight_of[s.index()] += test.gain;
    }
    double gains = 0.0;
    for (SharpTest& test : tests) {
      for (std::uint32_t i = 0; i < belief.count; ++i) {
        double minutes = model_->tests[test.test].minutes;
        for (const SetupId s : test.setups) {
          const bool own = needed_by_fault_[belief.fault[i]].contains(s);
          if (!own && weight_of[s.index()] > 0.0) minutes += round_trip_[s.index()] * test.gain / weight_of[s.index()];
        }
        test.minutes[i] = minutes;
      }
    }
    for (SharpTest& test : tests) {
      const double gain = gain_left(belief, test, price);
      gains += gain;
      test.gain = 0.5 * test.gain + gain / belief.mass;
    }
    best = std::max(best, (group_bits - belief.mass * log_repairs(price) - gains) / price);
  }
  return best;
}

double Bounds::finding_out(const Belief& belief, double group_bits, SetNumber made, TestList tests) {
  double best = finding_out(belief.mass, group_bits, made);
  if (!(group_bits > 0.0)) return best;
  std::vector<SharpTest> sharp;
  for (const std::uint16_t t : tests) {
    if (model_->tests[t].dominated) continue;
    SharpTest one;
    one.test = t;
    one.minutes.resize(belief.count);
    (needed_by_test_[t] - moves_->set(made)).for_each([&](SetupId s) { one.setups.push_back(s); });
    sharp.push_back(std::move(one));
  }
  for (std::size_t i = 0; i < prices_.size(); i += 2)
    best = std::max(best, sharp_at(belief, group_bits, sharp, prices_[i]));
  return best;
}

}  // namespace halfsplit::plan
