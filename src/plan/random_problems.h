// SPDX-License-Identifier: Apache-2.0
// Random planning problems for property tests and benches. All from a seed; every problem is valid.
// Small ones have a bit of everything (setups that need, exclude and forbid, uncertain outcomes, shared and overlapping
// repairs); vehicle-like ones have places, a test per point of a line, a few per cent of misleading readings.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "base/rng.h"
#include "plan/problem.h"
#include "plan/setups.h"

namespace halfsplit::plan::made_up {

struct RandomSize {
  std::size_t min_faults = 2;
  std::size_t max_faults = 4;
  std::size_t max_tests = 3;
  std::size_t max_setups = 3;
  double uncertain = 0.4;  // chance that a test's rows are distributions
};

class RandomProblem {
 public:
  RandomProblem(std::uint64_t seed, const RandomSize& size) : rng_(seed), size_(size) {}

  Problem make() {
    problem_.goal = rng_.chance(0.65) ? Goal::kRepair : Goal::kIsolate;
    add_faults();
    add_setups();
    const std::size_t tests = rng_.below(size_.max_tests + 1);
    for (std::size_t t = 0; t < tests; ++t) add_test(t);
    if (problem_.goal == Goal::kRepair || rng_.chance(0.5)) add_repairs();
    problem_.check = {static_cast<double>(rng_.below(3)), conditions(0.2)};
    problem_.undo_at_end = rng_.chance(0.9);
    if (rng_.chance(0.3)) problem_.initial_setups = legal_start();
    return problem_;
  }

 private:
  void add_faults() {
    const std::size_t n = size_.min_faults + rng_.below(size_.max_faults - size_.min_faults + 1);
    double sum = 0.0;
    for (std::size_t f = 0; f < n; ++f) {
      problem_.faults.push_back({"f" + std::to_string(f), 1.0 + static_cast<double>(rng_.below(9))});
      sum += problem_.faults.back().prior;
    }
    for (Fault& fault : problem_.faults) fault.prior /= sum;
  }

  void add_setups() {
    const std::size_t n = rng_.below(size_.max_setups + 1);
    for (std::size_t s = 0; s < n; ++s) {
      Setup setup{
          "s" + std::to_string(s), static_cast<double>(rng_.below(7)), static_cast<double>(rng_.below(6)), {}, {}};
      for (std::size_t earlier = 0; earlier < s; ++earlier) {
        if (rng_.chance(0.25))
          setup.needs.insert(SetupId(earlier));
        else if (rng_.chance(0.25))
          setup.excludes.insert(SetupId(earlier));
      }
      problem_.setups.push_back(setup);
      const SetupSet closed = close_over_needs(problem_.setups, setup.needs);
      SetupSet with = closed;
      with.insert(SetupId(s));
      if (has_conflict(problem_.setups, with)) problem_.setups.back().excludes = {};
      if (has_conflict(problem_.setups, with)) problem_.setups.back().needs = {};
    }
  }

  // Conditions that can be met.
  Conditions conditions(double chance) {
    for (;;) {
      Conditions out;
      for (std::size_t s = 0; s < problem_.setups.size(); ++s) {
        if (rng_.chance(chance))
          out.needs.insert(SetupId(s));
        else if (rng_.chance(chance * 0.5))
          out.forbids.insert(SetupId(s));
      }
      const SetupSet wanted = close_over_needs(problem_.setups, out.needs);
      if (!wanted.meets(out.forbids) && !has_conflict(problem_.setups, wanted)) return out;
    }
  }

  void add_test(std::size_t number) {
    Test test;
    test.name = "t" + std::to_string(number);
    test.minutes = static_cast<double>(1 + rng_.below(6));
    test.extra_minutes = rng_.chance(0.1) ? 0.5 : 0.0;
    test.conditions = conditions(0.35);
    const std::size_t outcomes = 2 + rng_.below(2);
    for (std::size_t o = 0; o < outcomes; ++o) test.outcomes.push_back("o" + std::to_string(o));
    const bool uncertain = rng_.chance(size_.uncertain);
    for (std::size_t f = 0; f < problem_.faults.size(); ++f) add_row(test, uncertain && rng_.chance(0.7));
    problem_.tests.push_back(test);
  }

  void add_row(Test& test, bool uncertain) {
    const std::size_t k = test.outcomes.size();
    const std::size_t main = rng_.below(k);
    const double share = uncertain ? 0.5 + 0.05 * static_cast<double>(rng_.below(10)) : 1.0;
    const std::size_t other = (main + 1 + rng_.below(k - 1)) % k;
    for (std::size_t o = 0; o < k; ++o) test.table.push_back(o == main ? share : o == other ? 1.0 - share : 0.0);
  }

  void add_repairs() {
    std::vector<bool> covered(problem_.faults.size(), false);
    for (std::size_t f = 0; f < covered.size(); ++f) {
      if (covered[f]) continue;
      Repair repair{"r" + std::to_string(problem_.repairs.size()),
                    {},
                    static_cast<double>(1 + rng_.below(30)),
                    0.0,
                    conditions(0.3)};
      repair.extra_minutes = rng_.chance(0.1) ? 2.0 : 0.0;
      for (std::size_t g = 0; g < covered.size(); ++g) {
        if (g != f && !rng_.chance(0.15)) continue;
        repair.mends.emplace_back(g);
        covered[g] = true;
      }
      problem_.repairs.push_back(repair);
    }
  }

  SetupSet legal_start() {
    SetupSet made;
    for (std::size_t s = 0; s < problem_.setups.size(); ++s) {
      SetupSet more = made;
      more.insert(SetupId(s));
      more = close_over_needs(problem_.setups, more);
      if (rng_.chance(0.5) && !has_conflict(problem_.setups, more)) made = more;
    }
    return made;
  }

  base::Rng rng_;
  RandomSize size_;
  Problem problem_;
};

inline Problem make_random_problem(std::uint64_t seed, const RandomSize& size = {}) {
  return RandomProblem(seed, size).make();
}

struct VehicleSize {
  std::size_t faults = 12;
  std::size_t tests = 12;
  std::size_t setups = 3;
  std::size_t outcomes = 2;
  double misleading = 0.0;  // share of readings that do not show what they should
};

// Faults along a line through places; a place takes a setup to reach; a test at a point tells what lies before it, and
// some tests tell several kinds of fault apart.
inline Problem make_vehicle_problem(std::uint64_t seed, const VehicleSize& size) {
  base::Rng rng(seed);
  Problem problem;
  double sum = 0.0;
  std::vector<std::size_t> place(size.faults);
  std::vector<std::size_t> kind(size.faults);
  for (std::size_t f = 0; f < size.faults; ++f) {
    problem.faults.push_back({"f" + std::to_string(f), rng.log_uniform(0.1, 3.0)});
    sum += problem.faults.back().prior;
    place[f] = size.setups == 0 ? 0 : f * (size.setups + 1) / size.faults;  // 0: in reach without a setup
    kind[f] = rng.below(size.outcomes);
  }
  for (Fault& fault : problem.faults) fault.prior /= sum;
  for (std::size_t s = 0; s < size.setups; ++s) {
    Setup setup{"place" + std::to_string(s), rng.uniform(1.0, 10.0), rng.uniform(1.0, 8.0), {}, {}};
    if (s > 0 && rng.chance(0.3)) setup.needs.insert(SetupId(s - 1));
    problem.setups.push_back(setup);
  }
  const auto reach = [&](std::size_t at) {
    Conditions conditions;
    if (at > 0) conditions.needs.insert(SetupId(at - 1));
    return conditions;
  };
  for (std::size_t t = 0; t < size.tests; ++t) {
    Test test;
    test.name = "t" + std::to_string(t);
    test.minutes = rng.uniform(0.5, 5.0);
    for (std::size_t o = 0; o < size.outcomes; ++o) test.outcomes.push_back("o" + std::to_string(o));
    const std::size_t point = rng.below(size.faults);
    test.conditions = reach(place[point]);
    const bool by_kind = rng.chance(0.3);
    for (std::size_t f = 0; f < size.faults; ++f) {
      std::size_t shown = f <= point ? 0 : 1;
      if (size.outcomes > 2 && shown == 0) shown = kind[f] == 1 ? 0 : kind[f];
      if (by_kind) shown = f == point || rng.chance(0.3) ? 0 : 1;
      for (std::size_t o = 0; o < size.outcomes; ++o) {
        const double spread = size.misleading / static_cast<double>(size.outcomes - 1);
        test.table.push_back(o == shown ? 1.0 - size.misleading : spread);
      }
    }
    problem.tests.push_back(test);
  }
  for (std::size_t f = 0; f < size.faults; ++f) {
    if (f > 0 && place[f] == place[f - 1] && rng.chance(0.2)) {
      problem.repairs.back().mends.emplace_back(f);
    } else {
      problem.repairs.push_back(
          {"r" + std::to_string(f), {FaultId(f)}, rng.log_uniform(3.0, 60.0), 0.0, reach(place[f])});
    }
  }
  problem.check.minutes = 2.0;
  return problem;
}

}  // namespace halfsplit::plan::made_up
