// SPDX-License-Identifier: Apache-2.0
// The slow twin of the planner: the best plan by trying everything, over histories of what was done and seen. It shares
// nothing with src/plan but the Problem: it may make and undo any legal setups before any action and again before a
// check, and does tests that tell nothing. For two to four faults, three tests, three setups. Where no test tells the
// faults left apart (goal kIsolate), the job ends there, as problem.h has it.
#pragma once

#include <algorithm>
#include <cstdint>
#include <limits>
#include <map>
#include <utility>
#include <vector>

#include "plan/problem.h"

namespace halfsplit::twins {

class PlanEveryHistory {
 public:
  explicit PlanEveryHistory(const plan::Problem& problem) : problem_(problem) {
    for (std::uint32_t made = 0; made < (1U << problem.setups.size()); ++made) {
      if (is_legal(made)) legal_.push_back(made);
    }
  }

  double best_minutes() {
    std::vector<double> weights;
    for (const plan::Fault& fault : problem_.faults) weights.push_back(fault.prior);
    std::uint32_t start = 0;
    problem_.initial_setups.for_each([&](plan::SetupId s) { start |= 1U << s.index(); });
    return value(History(problem_.tests.size() + problem_.repairs.size(), 0), weights, start);
  }

 private:
  using History = std::vector<std::uint8_t>;  // by test: 0 not done, else outcome + 1; by repair: 0 not done, 1 failed

  [[nodiscard]] std::uint32_t bits(const plan::SetupSet& set) const {
    std::uint32_t out = 0;
    for (std::size_t s = 0; s < problem_.setups.size(); ++s) out |= set.contains(plan::SetupId(s)) ? 1U << s : 0U;
    return out;
  }

  [[nodiscard]] bool is_legal(std::uint32_t made) const {
    for (std::size_t s = 0; s < problem_.setups.size(); ++s) {
      if ((made >> s & 1U) == 0) continue;
      if ((bits(problem_.setups[s].needs) & ~made) != 0 || (bits(problem_.setups[s].excludes) & made) != 0)
        return false;
    }
    return true;
  }

  [[nodiscard]] static bool meets(const PlanEveryHistory& self, std::uint32_t made,
                                  const plan::Conditions& conditions) {
    return (self.bits(conditions.needs) & ~made) == 0 && (self.bits(conditions.forbids) & made) == 0;
  }

  [[nodiscard]] double move(std::uint32_t from, std::uint32_t to) const {
    double minutes = 0.0;
    for (std::size_t s = 0; s < problem_.setups.size(); ++s) {
      if ((from & ~to) >> s & 1U) minutes += problem_.setups[s].undo_minutes;
      if ((to & ~from) >> s & 1U) minutes += problem_.setups[s].do_minutes;
    }
    return minutes;
  }

  [[nodiscard]] double end(std::uint32_t made) const { return problem_.undo_at_end ? move(made, 0) : 0.0; }

  [[nodiscard]] bool isolated(const std::vector<double>& weights) const {
    const auto alive = [&](std::size_t f) { return weights[f] > 0.0; };
    std::size_t count = 0;
    for (std::size_t f = 0; f < weights.size(); ++f) count += alive(f) ? 1 : 0;
    if (count == 1) return true;
    for (const plan::Repair& repair : problem_.repairs) {
      std::size_t mended = 0;
      for (std::size_t f = 0; f < weights.size(); ++f) mended += alive(f) && mends(repair, f) ? 1 : 0;
      if (mended == count) return true;
    }
    return false;
  }

  [[nodiscard]] static bool mends(const plan::Repair& repair, std::size_t fault) {
    return std::count(repair.mends.begin(), repair.mends.end(), plan::FaultId(fault)) > 0;
  }

  [[nodiscard]] bool anything_tells(const History& history, const std::vector<double>& weights) const {
    for (std::size_t t = 0; t < problem_.tests.size(); ++t) {
      const std::size_t k = problem_.tests[t].outcomes.size();
      for (std::size_t f = 0, first = weights.size(); f < weights.size() && history[t] == 0; ++f) {
        if (weights[f] <= 0.0) continue;
        if (first == weights.size()) first = f;
        const double* table = problem_.tests[t].table.data();
        if (!std::equal(table + f * k, table + (f + 1) * k, table + first * k)) return true;
      }
    }
    return false;
  }

  // Mass-weighted.
  double value(const History& history, const std::vector<double>& weights, std::uint32_t made) {
    const auto key = std::make_pair(history, made);
    if (const auto known = memo_.find(key); known != memo_.end()) return known->second;
    double mass = 0.0;
    for (const double weight : weights) mass += weight;
    double best = std::numeric_limits<double>::infinity();
    const bool isolate = problem_.goal == plan::Goal::kIsolate;
    if (isolate && (isolated(weights) || !anything_tells(history, weights))) best = mass * end(made);
    for (std::size_t t = 0; t < problem_.tests.size(); ++t) {
      if (history[t] == 0) best = std::min(best, test_value(history, weights, made, t, mass));
    }
    for (std::size_t r = 0; r < problem_.repairs.size() && !isolate; ++r) {
      if (history[problem_.tests.size() + r] == 0) best = std::min(best, repair_value(history, weights, made, r, mass));
    }
    return memo_[key] = best;
  }

  double test_value(const History& history, const std::vector<double>& weights, std::uint32_t made, std::size_t t,
                    double mass) {
    const plan::Test& test = problem_.tests[t];
    double best = std::numeric_limits<double>::infinity();
    for (const std::uint32_t target : legal_) {
      if (!meets(*this, target, test.conditions)) continue;
      double sum = mass * (move(made, target) + test.minutes + test.extra_minutes);
      for (std::size_t o = 0; o < test.outcomes.size(); ++o) {
        std::vector<double> left = weights;
        double part = 0.0;
        for (std::size_t f = 0; f < left.size(); ++f) part += left[f] *= test.table[f * test.outcomes.size() + o];
        History next = history;
        next[t] = static_cast<std::uint8_t>(o + 1);
        if (part > 0.0) sum += value(next, left, target);
      }
      best = std::min(best, sum);
    }
    return best;
  }

  double repair_value(const History& history, const std::vector<double>& weights, std::uint32_t made, std::size_t r,
                      double mass) {
    const plan::Repair& repair = problem_.repairs[r];
    std::vector<double> left = weights;
    double mended = 0.0;
    for (std::size_t f = 0; f < left.size(); ++f) {
      if (!mends(repair, f)) continue;
      mended += left[f];
      left[f] = 0.0;
    }
    double best = std::numeric_limits<double>::infinity();
    if (mended <= 0.0) return best;
    const bool over = std::all_of(left.begin(), left.end(), [](double w) { return w <= 0.0; });
    History next = history;
    next[problem_.tests.size() + r] = 1;
    for (const std::uint32_t there : legal_) {
      if (!meets(*this, there, repair.conditions)) continue;
      for (const std::uint32_t check : legal_) {
        if (!meets(*this, check, problem_.check.conditions)) continue;
        double sum = mass * (move(made, there) + repair.minutes + repair.extra_minutes + move(there, check) +
                             problem_.check.minutes);
        sum += mended * end(check);
        if (!over) sum += value(next, left, check);
        best = std::min(best, sum);
      }
    }
    return best;
  }

  const plan::Problem& problem_;
  std::vector<std::uint32_t> legal_;
  std::map<std::pair<History, std::uint32_t>, double> memo_;
};

}  // namespace halfsplit::twins
