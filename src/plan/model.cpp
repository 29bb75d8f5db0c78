// SPDX-License-Identifier: Apache-2.0
// Folding equal faults is exact: a plan cannot treat them differently and the same repair ends the job for either.
// Dropping a dominated sure test is exact: wherever a plan does it, the other one can be done in the same setups.
// Groups: faults that may both be possible when the job ends. Goal kRepair: the proved repair mends both. Goal
// kIsolate: also those no test separates for certain. A plan always ends knowing the group, whatever else it knows
// (bounds.h uses that). Capacity of a test as a channel from fault to outcome: Blahut and Arimoto 1972 (from memory);
// the value kept is max over faults of D(row || outcome law), which is an upper bound at every iteration.
#include "plan/model.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace halfsplit::plan {

namespace {

constexpr double kCertain = 1.0 - 1e-12;
constexpr int kLogBits = 36;

class Builder {
 public:
  explicit Builder(const Problem& problem) : problem_(problem) {}

  Model build() {
    model_.goal = problem_.goal;
    model_.setups = problem_.setups;
    model_.undo_at_end = problem_.undo_at_end;
    fold_faults();
    add_repairs();
    add_tests();
    mark_dominated();
    find_groups();
    return std::move(model_);
  }

 private:
  [[nodiscard]] std::vector<std::uint16_t> repairs_of(std::size_t problem_fault) const {
    std::vector<std::uint16_t> out;
    for (std::size_t r = 0; r < problem_.repairs.size(); ++r) {
      const auto& mends = problem_.repairs[r].mends;
      if (std::find(mends.begin(), mends.end(), FaultId(problem_fault)) != mends.end()) {
        out.push_back(static_cast<std::uint16_t>(r));
      }
    }
    return out;
  }

  [[nodiscard]] bool same_rows(std::size_t a, std::size_t b) const {
    return std::all_of(problem_.tests.begin(), problem_.tests.end(), [&](const Test& test) {
      const auto n = static_cast<std::ptrdiff_t>(test.outcomes.size());
      const auto row = [&](std::size_t f) { return test.table.begin() + static_cast<std::ptrdiff_t>(f) * n; };
      return std::equal(row(a), row(a) + n, row(b));
    });
  }

  // Classes in the order of their first fault; within a class, folded faults in their order.
  void fold_faults() {
    std::map<std::vector<std::uint16_t>, std::size_t> class_at;
    std::vector<std::vector<std::size_t>> members;  // by class: problem faults
    for (std::size_t f = 0; f < problem_.faults.size(); ++f) {
      if (problem_.faults[f].prior <= 0.0) continue;
      const std::vector<std::uint16_t> repairs = repairs_of(f);
      const auto found = class_at.find(repairs);
      const bool own_class = found == class_at.end() || repairs.empty();
      const std::size_t at = own_class ? members.size() : found->second;
      if (own_class) members.emplace_back();
      if (own_class && !repairs.empty()) class_at.emplace(repairs, at);
      members[at].push_back(f);
    }
    model_.fault_of.assign(problem_.faults.size(), kNoFault);
    for (std::size_t c = 0; c < members.size(); ++c) number_class(members[c], c);
    model_.fault_count = first_of_.size();
  }

  void number_class(const std::vector<std::size_t>& members, std::size_t c) {
    const std::size_t first = first_of_.size();
    for (const std::size_t f : members) {
      std::size_t at = first;
      while (at < first_of_.size() && !same_rows(first_of_[at], f)) ++at;
      if (at == first_of_.size()) {
        first_of_.push_back(f);
        model_.class_of.push_back(static_cast<std::uint16_t>(c));
      }
      model_.fault_of[f] = static_cast<FaultNumber>(at);
    }
  }

  ConditionNumber condition_number(const Conditions& conditions) {
    const auto at = std::find(model_.conditions.begin(), model_.conditions.end(), conditions);
    if (at != model_.conditions.end()) return static_cast<ConditionNumber>(at - model_.conditions.begin());
    model_.conditions.push_back(conditions);
    return static_cast<ConditionNumber>(model_.conditions.size() - 1);
  }

  void add_repairs() {
    model_.check_condition = condition_number(problem_.check.conditions);
    model_.check_minutes = problem_.check.minutes;
    const std::size_t n = model_.fault_count;
    model_.mends.assign(problem_.repairs.size() * n, 0);
    for (const Repair& repair : problem_.repairs) {
      model_.repairs.push_back({repair.minutes + repair.extra_minutes, condition_number(repair.conditions)});
    }
    for (std::size_t f = 0; f < n; ++f) {
      model_.repairs_begin.push_back(static_cast<std::uint32_t>(model_.repair_list.size()));
      for (const std::uint16_t r : repairs_of(first_of_[f])) {
        model_.repair_list.push_back(r);
        model_.mends[r * n + f] = 1;
      }
    }
    model_.repairs_begin.push_back(static_cast<std::uint32_t>(model_.repair_list.size()));
  }

  void add_tests() {
    for (const Test& test : problem_.tests) {
      ModelTest out;
      out.minutes = test.minutes + test.extra_minutes;
      out.condition = condition_number(test.conditions);
      out.outcomes = static_cast<std::uint32_t>(test.outcomes.size());
      out.table = model_.table.size();
      out.sure = true;
      for (const std::size_t f : first_of_) out.sure = add_row(test, f) && out.sure;
      out.capacity_bits = capacity(out);
      model_.tests.push_back(out);
    }
  }

  // True when one outcome is certain.
  bool add_row(const Test& test, std::size_t fault) {
    const std::size_t k = test.outcomes.size();
    double noise = 0.0;
    std::size_t likeliest = 0;
    const double* row = test.table.data() + fault * k;
    for (std::size_t o = 0; o < k; ++o) {
      if (row[o] > row[likeliest]) likeliest = o;
    }
    const bool certain = row[likeliest] >= kCertain;
    for (std::size_t o = 0; o < k; ++o) {
      const double p = certain ? (o == likeliest ? 1.0 : 0.0) : row[o];
      model_.table.push_back(p);
      model_.log_steps.push_back(p > 0.0 ? std::llround(std::ldexp(std::log2(p), kLogBits)) : 0);
      if (p > 0.0) noise -= p * std::log2(p);
    }
    model_.noise_bits.push_back(noise);
    model_.sure_outcome.push_back(static_cast<std::uint8_t>(likeliest));
    return certain;
  }

  // Rows that differ, up to a few; more rows than that cap the capacity at log2(outcomes).
  [[nodiscard]] std::vector<const double*> distinct_rows(const ModelTest& test) const {
    std::vector<const double*> rows;
    for (std::size_t f = 0; f < model_.fault_count; ++f) {
      const double* row = model_.table.data() + test.table + f * test.outcomes;
      const bool known = std::any_of(rows.begin(), rows.end(),
                                     [&](const double* other) { return std::equal(row, row + test.outcomes, other); });
      if (!known) rows.push_back(row);
    }
    return rows;
  }

  [[nodiscard]] double capacity(const ModelTest& test) const {
    const std::vector<const double*> rows = distinct_rows(test);
    const double cap = std::log2(static_cast<double>(std::min<std::size_t>(rows.size(), test.outcomes)));
    constexpr std::size_t kManyRows = 12;
    if (test.sure || rows.size() > kManyRows) return cap;
    std::vector<double> input(rows.size(), 1.0 / static_cast<double>(rows.size()));
    double best = cap;
    for (int round = 0; round < 12; ++round) best = std::min(best, arimoto_round(rows, test.outcomes, input));
    return best;
  }

  // One round; returns the upper bound on the capacity that it proves.
  static double arimoto_round(const std::vector<const double*>& rows, std::size_t k, std::vector<double>& input) {
    std::vector<double> law(k, 0.0);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      for (std::size_t o = 0; o < k; ++o) law[o] += input[i] * rows[i][o];
    }
    double top = 0.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      double divergence = 0.0;
      for (std::size_t o = 0; o < k; ++o) {
        if (rows[i][o] > 0.0) divergence += rows[i][o] * std::log2(rows[i][o] / law[o]);
      }
      top = std::max(top, divergence);
      input[i] *= std::exp2(divergence);
      sum += input[i];
    }
    for (double& weight : input) weight /= sum;
    return top;
  }

  [[nodiscard]] bool asks_for_no_more(ConditionNumber a, ConditionNumber b) const {
    const Conditions& ca = model_.conditions[a];
    const Conditions& cb = model_.conditions[b];
    return close_over_needs(model_.setups, cb.needs).contains(ca.needs) && cb.forbids.contains(ca.forbids);
  }

  // The partition a sure test makes, as outcome labels in order of first appearance.
  [[nodiscard]] std::vector<std::uint8_t> partition_of(std::size_t t) const {
    std::vector<std::uint8_t> label(256, 255);
    std::uint8_t next = 0;
    std::vector<std::uint8_t> out;
    for (std::size_t f = 0; f < model_.fault_count; ++f) {
      std::uint8_t& own = label[model_.sure_outcome[t * model_.fault_count + f]];
      if (own == 255) own = next++;
      out.push_back(own);
    }
    return out;
  }

  void mark_dominated() {
    std::map<std::vector<std::uint8_t>, std::vector<std::size_t>> alike;
    for (std::size_t t = 0; t < model_.tests.size(); ++t) {
      if (model_.tests[t].sure) alike[partition_of(t)].push_back(t);
    }
    for (const auto& [partition, tests] : alike) {
      for (const std::size_t t : tests) {
        model_.tests[t].dominated =
            std::any_of(tests.begin(), tests.end(), [&](std::size_t u) { return dominates(u, t); });
      }
    }
  }

  // Of two that dominate each other the earlier one stays.
  [[nodiscard]] bool dominates(std::size_t u, std::size_t t) const {
    if (u == t || model_.tests[u].minutes > model_.tests[t].minutes) return false;
    if (!asks_for_no_more(model_.tests[u].condition, model_.tests[t].condition)) return false;
    const bool back = model_.tests[t].minutes <= model_.tests[u].minutes &&
                      asks_for_no_more(model_.tests[t].condition, model_.tests[u].condition);
    return !back || u < t;
  }

  [[nodiscard]] bool may_end_together(FaultNumber a, FaultNumber b) const {
    for (std::size_t r = 0; r < model_.repairs.size(); ++r) {
      if (model_.does_mend(r, a) && model_.does_mend(r, b)) return true;
    }
    if (model_.goal == Goal::kRepair) return false;
    for (std::size_t t = 0; t < model_.tests.size(); ++t) {
      bool overlap = false;
      for (std::size_t o = 0; o < model_.tests[t].outcomes && !overlap; ++o) {
        overlap = model_.likelihood(t, a, o) > 0.0 && model_.likelihood(t, b, o) > 0.0;
      }
      if (!overlap) return false;
    }
    return true;
  }

  void find_groups() {
    const std::size_t n = model_.fault_count;
    std::vector<std::uint16_t> root(n);
    std::iota(root.begin(), root.end(), std::uint16_t{0});
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b < a; ++b) {
        if (root[a] == root[b] || !may_end_together(static_cast<FaultNumber>(a), static_cast<FaultNumber>(b))) continue;
        const std::uint16_t from = std::max(root[a], root[b]);
        const std::uint16_t to = std::min(root[a], root[b]);
        std::replace(root.begin(), root.end(), from, to);
      }
    }
    model_.group_of = root;
    for (std::size_t f = 1; f < n; ++f) {
      const bool same_group = root[f] == root[f - 1];
      const bool same_class = model_.class_of[f] == model_.class_of[f - 1];
      const bool first_of_group = root[f] == f;
      model_.groups_are_classes = model_.groups_are_classes && (same_class ? same_group : first_of_group);
    }
  }

  const Problem& problem_;
  Model model_;
  std::vector<std::size_t> first_of_;  // by model fault: the problem fault whose rows it has
};

}  // namespace

Model make_model(const Problem& problem) { return Builder(problem).build(); }

std::vector<double> fold_weights(const Model& model, const std::vector<double>& weights) {
  std::vector<double> out(model.fault_count, 0.0);
  for (std::size_t f = 0; f < weights.size(); ++f) {
    if (model.fault_of[f] != kNoFault) out[model.fault_of[f]] += weights[f];
  }
  return out;
}

}  // namespace halfsplit::plan
