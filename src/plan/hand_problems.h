// SPDX-License-Identifier: Apache-2.0
// Small problems written by hand, for this room's tests; minutes and faults are invented. Those with a number can be
// solved on paper; the answer stands beside each.
#pragma once

#include <algorithm>
#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

#include "plan/problem.h"

namespace halfsplit::plan::hand {

inline SetupSet set_of(std::initializer_list<std::size_t> members) {
  SetupSet set;
  for (const std::size_t m : members) set.insert(SetupId(m));
  return set;
}

// A test with certain outcomes: shown[fault] is the outcome's number.
inline Test sure_test(std::string name, double minutes, const std::vector<std::size_t>& shown,
                      Conditions conditions = {}) {
  Test test;
  test.name = std::move(name);
  test.minutes = minutes;
  test.conditions = conditions;
  std::size_t outcomes = 2;
  for (const std::size_t o : shown) outcomes = std::max(outcomes, o + 1);
  for (std::size_t o = 0; o < outcomes; ++o) test.outcomes.push_back("o" + std::to_string(o));
  for (const std::size_t o : shown) {
    for (std::size_t i = 0; i < outcomes; ++i) test.table.push_back(i == o ? 1.0 : 0.0);
  }
  return test;
}

// Two outcomes; chance[fault] is the probability of the first.
inline Test unsure_test(std::string name, double minutes, const std::vector<double>& chance,
                        Conditions conditions = {}) {
  Test test = sure_test(std::move(name), minutes, std::vector<std::size_t>(chance.size(), 0), conditions);
  test.table.clear();
  for (const double p : chance) {
    test.table.push_back(p);
    test.table.push_back(1.0 - p);
  }
  return test;
}

inline Problem with_faults(Goal goal, const std::vector<double>& priors) {
  Problem problem;
  problem.goal = goal;
  for (std::size_t f = 0; f < priors.size(); ++f) problem.faults.push_back({"f" + std::to_string(f), priors[f]});
  return problem;
}

// One repair per fault, with these minutes.
inline void add_own_repairs(Problem& problem, const std::vector<double>& minutes) {
  for (std::size_t f = 0; f < minutes.size(); ++f) {
    problem.repairs.push_back({"mend" + std::to_string(f), {FaultId(f)}, minutes[f], 0.0, {}});
  }
}

// Three faults, one panel (4 to open, 2 to close), goal kIsolate. Best: outside (3) finds the first fault (0.5); else
// the panel and one test inside (4 + 1 + 2): 3 + 0.5 * 7 = 6.5.
inline Problem one_panel() {
  Problem problem = with_faults(Goal::kIsolate, {0.5, 0.3, 0.2});
  problem.setups.push_back({"panel", 4.0, 2.0, {}, {}});
  const Conditions inside{set_of({0}), {}};
  problem.tests.push_back(sure_test("outside", 3.0, {0, 1, 1}));
  problem.tests.push_back(sure_test("inside-1", 1.0, {1, 0, 1}, inside));
  problem.tests.push_back(sure_test("inside-2", 1.0, {0, 1, 1}, inside));
  return problem;
}

// Four even faults: the cab up (6, down 4) and both tests under it: 12. The test outside (5) tells most per minute at
// first, and leads to 16.
inline Problem greedy_trap() {
  Problem problem = with_faults(Goal::kIsolate, {0.25, 0.25, 0.25, 0.25});
  problem.setups.push_back({"cab up", 6.0, 4.0, {}, {}});
  const Conditions under{set_of({0}), {}};
  problem.tests.push_back(sure_test("outside", 5.0, {0, 0, 1, 1}));
  problem.tests.push_back(sure_test("under-1", 1.0, {0, 1, 0, 1}, under));
  problem.tests.push_back(sure_test("under-2", 1.0, {0, 0, 1, 1}, under));
  return problem;
}

// Repairs only. By falling p over c: D B C A E; 19.9 minutes.
inline Problem repairs_only() {
  Problem problem = with_faults(Goal::kRepair, {0.4, 0.25, 0.2, 0.1, 0.05});
  add_own_repairs(problem, {20.0, 5.0, 8.0, 1.0, 4.0});
  return problem;
}

// Two even faults, a test that shows the right one nine times in ten, repairs of 10 and 20, a check of 1.
// Mending the first untested: 11 + 0.5 * 21 = 21.5. Testing (1 minute) first: 1 + 0.9 * (0.5 * 11 + 0.5 * 21) + 0.1 *
// 32 = 18.6.
inline Problem nine_in_ten() {
  Problem problem = with_faults(Goal::kRepair, {0.5, 0.5});
  problem.tests.push_back(unsure_test("reading", 1.0, {0.9, 0.1}));
  add_own_repairs(problem, {10.0, 20.0});
  problem.check.minutes = 1.0;
  return problem;
}

}  // namespace halfsplit::plan::hand
