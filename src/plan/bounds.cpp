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
  const SetupSet check = close_over_needs(model.setups, model.conditions[model.check_condition].needs);
  needed_by_fault_.assign(model.fault_count, SetupSet{});
  if (model.goal == Goal::kRepair) {
    for (std::size_t f = 0; f < model.fault_count; ++f) {
      needed_by_fault_[f] = check;
      for (std::uint32_t i = model.repairs_begin[f]; i < model.repairs_begin[f + 1]; ++i) {
        const Conditions& conditions = model.conditions[model.repairs[model.repair_list[i]].condition];
        needed_by_fault_[f] = needed_by_fault_[f] | close_over_needs(model.setups, conditions.needs);
      }
      needed_by_any_repair_ = needed_by_any_repair_ | needed_by_fault_[f];
    }
  }
  for (const Setup& setup : model.setups) {
    round_trip_.push_back(setup.do_minutes + (model.undo_at_end ? setup.undo_minutes : 0.0));
  }
  for (const ModelTest& test : model.tests) {
    needed_by_test_.push_back(close_over_needs(model.setups, model.conditions[test.condition].needs));
    std::uint16_t dearest = kNobody;
    (needed_by_test_.back() - needed_by_any_repair_).for_each([&](SetupId s) {
      if (dearest == kNobody || round_trip_[s.index()] > round_trip_[dearest])
        dearest = static_cast<std::uint16_t>(s.index());
    });
    charged_to_.push_back(dearest);
  }
  choose_prices();
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
    log_repairs_.push_back(log_repairs(prices_.back()));
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

const double* Bounds::unavoidable(SetNumber made) {
  if (unavoidable_.size() <= made) unavoidable_.resize(std::max<std::size_t>(made + 1, 2 * unavoidable_.size()));
  if (!unavoidable_[made].empty()) return unavoidable_[made].data();
  std::vector<double> row(model_->fault_count, moves_->end_minutes(made));
  if (model_->goal == Goal::kRepair) {
    for (std::size_t f = 0; f < row.size(); ++f) {
      const std::uint32_t begin = model_->repairs_begin[f];
      row[f] = cost_through(made, model_->repair_list[begin]);
      for (std::uint32_t i = begin + 1; i < model_->repairs_begin[f + 1]; ++i) {
        row[f] = std::min(row[f], cost_through(made, model_->repair_list[i]));
      }
    }
  }
  unavoidable_[made] = std::move(row);
  return unavoidable_[made].data();
}

double Bounds::unavoidable(const Belief& belief, SetNumber made) {
  const double* row = unavoidable(made);
  double sum = 0.0;
  for (std::uint32_t i = 0; i < belief.count; ++i) sum += belief.weight[i] * row[belief.fault[i]];
  return sum;
}

double Bounds::cost_through(SetNumber made, std::size_t repair) {
  const SetupMoves::Move there = moves_->move(made, model_->repairs[repair].condition);
  const SetupMoves::Move check = moves_->move(there.to, model_->check_condition);
  return there.minutes + model_->repairs[repair].minutes + check.minutes + model_->check_minutes +
         moves_->end_minutes(check.to);
}

// Sum over tests of max(0, capacity - price * minutes), each setup that only tests need paid once for its tests.
double Bounds::log_tests(double price, const SetupSet& made) const {
  double bits = 0.0;
  std::vector<double> by_setup(model_->setups.size(), 0.0);
  for (std::size_t t = 0; t < model_->tests.size(); ++t) {
    if (model_->tests[t].dominated) continue;
    const double gain = std::max(0.0, model_->tests[t].capacity_bits - price * model_->tests[t].minutes);
    const bool charged = charged_to_[t] != kNobody && !made.contains(SetupId(charged_to_[t]));
    (charged ? by_setup[charged_to_[t]] : bits) += gain;
  }
  for (std::size_t s = 0; s < by_setup.size(); ++s) bits += std::max(0.0, by_setup[s] - price * round_trip_[s]);
  return bits;
}

const std::vector<double>& Bounds::free_bits(SetNumber made) {
  if (free_bits_.size() <= made) free_bits_.resize(std::max<std::size_t>(made + 1, 2 * free_bits_.size()));
  if (free_bits_[made].empty()) {
    std::vector<double> bits;
    for (std::size_t i = 0; i < prices_.size(); ++i)
      bits.push_back(log_repairs_[i] + log_tests(prices_[i], moves_->set(made)));
    free_bits_[made] = std::move(bits);
  }
  return free_bits_[made];
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
