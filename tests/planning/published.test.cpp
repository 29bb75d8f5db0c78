// SPDX-License-Identifier: Apache-2.0
// Problems of the literature whose answers are known: orders of repairs, calling somebody in, codes and search trees.
// The source of each stands beside it; "from memory" means that the paper was not read again. Those numbers were worked
// out by brute force in a separate program, so only the attribution could be wrong. The published test matrix, the cost
// clusters and two more trees are among the instances of planning_facts.test.cpp; edge weights are in
// src/plan/gain.test.cpp.
#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

#include "plan/decide.h"
#include "plan/exact.h"
#include "plan/hand_problems.h"
#include "plan/tree.h"

namespace halfsplit {
namespace {

plan::Problem faults_of(plan::Goal goal, std::vector<double> weights) {
  const double sum = std::accumulate(weights.begin(), weights.end(), 0.0);
  for (double& weight : weights) weight /= sum;
  return plan::hand::with_faults(goal, weights);
}

// Any split of the faults is a test of one minute.
plan::Problem every_split(const std::vector<double>& weights) {
  plan::Problem problem = faults_of(plan::Goal::kIsolate, weights);
  const std::size_t n = weights.size();
  for (std::size_t with_last = 1; with_last < (std::size_t{1} << (n - 1)); ++with_last) {
    std::vector<std::size_t> shown;
    for (std::size_t f = 0; f < n; ++f) shown.push_back(with_last >> f & 1U);
    problem.tests.push_back(plan::hand::sure_test(std::to_string(with_last), 1.0, shown));
  }
  return problem;
}

// A row that can be cut between any two neighbours, one minute a cut.
plan::Problem row(const std::vector<double>& weights) {
  plan::Problem problem = faults_of(plan::Goal::kIsolate, weights);
  for (std::size_t cut = 1; cut < weights.size(); ++cut) {
    std::vector<std::size_t> shown;
    for (std::size_t f = 0; f < weights.size(); ++f) shown.push_back(f < cut ? 0 : 1);
    problem.tests.push_back(plan::hand::sure_test("after " + std::to_string(cut), 1.0, shown));
  }
  return problem;
}

void expect_best(const plan::Problem& problem, double minutes, double within = 1e-9) {
  const plan::ExactResult exact = plan::solve_exact(problem);
  EXPECT_TRUE(exact.complete);
  EXPECT_NEAR(exact.minutes, minutes, within);
  const plan::Decision decision = plan::decide(problem);
  EXPECT_NEAR(decision.expected_minutes, minutes, within);
  EXPECT_TRUE(decision.exact);
}

// Huffman 1952; that no plan of unit tests with two outcomes is cheaper: Zimmerman 1959 (both from memory). The weights
// 5 9 12 13 16 45: the worked example of Cormen et al., Introduction to Algorithms, Huffman codes (from memory).
TEST(Published, WhereEverySplitIsATestTheBestPlanIsHuffmansCode) {
  expect_best(every_split({0.70, 0.12, 0.10, 0.05, 0.02, 0.01}), 1.59);
  expect_best(every_split({0.36, 0.22, 0.17, 0.14, 0.11}), 2.25);
  expect_best(every_split({5, 9, 12, 13, 16, 45}), 2.24);
  expect_best(every_split({0.10, 0.05, 0.20, 0.05, 0.25, 0.05, 0.10, 0.20}), 2.80);
}

// Hu and Tucker 1971, Garsia and Wachs 1977. The frequencies of space and the letters a to z: Knuth, The Art of
// Computer Programming, volume 3 (from memory).
TEST(Published, WhereARowCanOnlyBeCutTheBestPlanIsTheAlphabeticTree) {
  expect_best(row({0.10, 0.05, 0.20, 0.05, 0.25, 0.05, 0.10, 0.20}), 2.90);
  expect_best(
      row({186, 64, 13, 22, 32, 103, 21, 15, 47, 57, 1, 5, 32, 20, 57, 63, 15, 1, 48, 51, 80, 23, 8, 18, 1, 16, 1}),
      4.2);
}

// Knuth 1971; the keys' and gaps' probabilities: the worked example of Cormen et al., optimal binary search trees (from
// memory): 2.75 looks with one counted for finding a gap empty, root k2 (k4 is as good). A look is a test of three
// outcomes; in a gap there is nothing more to look at, so the gaps' 0.40 falls away.
TEST(Published, SearchTreeOfKeysAndGaps) {
  const std::vector<double> keys{0.15, 0.10, 0.05, 0.10, 0.20};
  const std::vector<double> gaps{0.05, 0.10, 0.05, 0.05, 0.05, 0.10};
  std::vector<double> priors{gaps[0]};
  for (std::size_t k = 0; k < keys.size(); ++k) priors.insert(priors.end(), {keys[k], gaps[k + 1]});
  plan::Problem problem = faults_of(plan::Goal::kIsolate, priors);
  for (std::size_t k = 0; k < keys.size(); ++k) {
    std::vector<std::size_t> shown;
    for (std::size_t f = 0; f < priors.size(); ++f) shown.push_back(f < 2 * k + 1 ? 0 : f == 2 * k + 1 ? 1 : 2);
    problem.tests.push_back(plan::hand::sure_test("k" + std::to_string(k + 1), 1.0, shown));
  }
  expect_best(problem, 2.75 - 0.40);
  EXPECT_EQ(plan::solve_exact(problem).first,
            (std::vector<plan::Action>{{plan::ActionKind::kTest, 1}, {plan::ActionKind::kTest, 3}}));
}

// Follows this order of repairs or tests, each while it may still do something.
double minutes_in_order(const plan::Problem& problem, const std::vector<std::size_t>& order) {
  const plan::Policy policy = [&](const plan::Situation& here) {
    for (const std::size_t r : order) {
      if (here.repairs_left[r] && here.weights[r] > 0.0)
        return plan::Choice{{plan::ActionKind::kRepair, r}, 0.0, false};
    }
    return plan::Choice{};
  };
  return plan::grow_tree(problem, plan::start_of(problem), policy, {0.0, 1'000}).expected_minutes;
}

// Kadane and Simon 1977, through Ottosen and Jensen 2010 (arXiv 1203.3502): falling p over c is the best order. The
// probabilities and minutes are ours, the answers from trying every order outside.
TEST(Published, OrdersOfRepairs) {
  const plan::Problem problem = plan::hand::repairs_only();  // A to E
  expect_best(problem, 19.9);
  EXPECT_NEAR(minutes_in_order(problem, {3, 1, 2, 0, 4}), 19.9, 1e-9);   // p over c
  EXPECT_NEAR(minutes_in_order(problem, {0, 1, 2, 3, 4}), 26.15, 1e-9);  // falling p
  EXPECT_NEAR(minutes_in_order(problem, {3, 4, 1, 2, 0}), 21.65, 1e-9);  // rising c
  double worst = 0.0;
  std::vector<std::size_t> order{0, 1, 2, 3, 4};
  do worst = std::max(worst, minutes_in_order(problem, order));
  while (std::next_permutation(order.begin(), order.end()));
  EXPECT_NEAR(worst, 29.25, 1e-9);
}

struct Part {
  double prior = 0.0;
  double look = 0.0;
  double mend = 0.0;
};
const std::vector<Part> kParts{{0.35, 2, 30}, {0.10, 1, 60}, {0.30, 5, 10}, {0.25, 3, 5}};  // A to D; ours

// Heckerman, Breese and Rommelse 1995 (the formula from memory): looking at the parts in turn and mending the one that
// is broken costs the looks on the way and that part's mending. Mending is paid once whatever the order, so looks alone
// decide.
TEST(Published, LooksInTurnThenOneMending) {
  plan::Problem problem = plan::hand::with_faults(plan::Goal::kRepair, {0.35, 0.10, 0.30, 0.25});
  plan::hand::add_own_repairs(problem, {2, 1, 5, 3});
  double mending = 0.0;
  for (const Part& part : kParts) mending += part.prior * part.mend;
  EXPECT_NEAR(plan::solve_exact(problem).minutes + mending, 26.55, 1e-9);
  EXPECT_NEAR(minutes_in_order(problem, {0, 1, 3, 2}) + mending, 26.55, 1e-9);
}

// The same with somebody to call, who mends whatever it is. So that no part is changed without a look, as the formula
// has it, every way ends with the same dear step, and now and then the fault is in none of the parts.
constexpr double kDear = 1e7;
constexpr double kElsewhere = 1e-6;

plan::Problem with_a_call(double minutes) {
  plan::Problem problem = faults_of(plan::Goal::kRepair, {0.35, 0.10, 0.30, 0.25, kElsewhere});
  plan::Repair call{"call", {plan::FaultId(kParts.size())}, minutes + kDear, 0.0, {}};
  for (std::size_t f = 0; f < kParts.size(); ++f) {
    std::vector<std::size_t> shown(kParts.size() + 1, 0);
    shown[f] = 1;
    problem.tests.push_back(plan::hand::sure_test(std::string(1, static_cast<char>('A' + f)), kParts[f].look, shown));
    problem.repairs.push_back({"mend", {plan::FaultId(f)}, kParts[f].mend + kDear, 0.0, {}});
    call.mends.emplace_back(f);
  }
  problem.repairs.push_back(call);
  return problem;
}

// The looks of the best plan while nothing is found, and the call that ends them.
std::string looks_until_call(const plan::Problem& problem) {
  std::string out;
  plan::Situation here = plan::start_of(problem);
  for (;;) {
    const plan::Action next = plan::solve_exact(problem, here).first.front();
    if (next.kind != plan::ActionKind::kTest) return out + (next.index == kParts.size() ? " call" : " mend");
    out += problem.tests[next.index].name;
    here = plan::after(problem, here, next, 0);
  }
}

// Looks in this order, mends what is found, calls when nothing is.
double minutes_of_looks(const plan::Problem& problem, const std::vector<std::size_t>& order) {
  const plan::Policy policy = [&](const plan::Situation& here) {
    for (std::size_t f = 0; f < kParts.size(); ++f) {
      const double rest = std::accumulate(here.weights.begin(), here.weights.end(), -here.weights[f]);
      if (rest <= 0.0) return plan::Choice{{plan::ActionKind::kRepair, f}, 0.0, false};
    }
    for (const std::size_t t : order) {
      if (here.tests_left[t]) return plan::Choice{{plan::ActionKind::kTest, t}, 0.0, false};
    }
    return plan::Choice{{plan::ActionKind::kRepair, kParts.size()}, 0.0, false};
  };
  return plan::grow_tree(problem, plan::start_of(problem), policy, {0.0, 1'000}).expected_minutes - kDear;
}

// A call is no last entry of a list: it changes which parts are worth a look (same source; the best sequences from
// trying every one outside). At 80 the call is only for what is in none of the parts.
TEST(Published, ACallChangesWhichPartsAreWorthALook) {
  constexpr double kWithin = 1e-3;
  expect_best(with_a_call(15.0), kDear + 15.0, kWithin);
  EXPECT_EQ(looks_until_call(with_a_call(15.0)), " call");
  expect_best(with_a_call(80.0), kDear + 26.55, kWithin);
  EXPECT_EQ(looks_until_call(with_a_call(80.0)), "ABDC call");
  EXPECT_NEAR(minutes_of_looks(with_a_call(25.0), {3, 2}), 22.25, kWithin);
  EXPECT_NEAR(minutes_of_looks(with_a_call(40.0), {0, 3, 2}), 24.7, kWithin);
}

// The formula mends what it finds, at any price; the planner may also call then, which saves more. On paper: looks at
// A, B, D, C cost 2 + .65 + .55 * 3 + .3 * 5; mending D and C .25 * 5 + .3 * 10; and A and B by a call at 25
// .45 * 25, at 40 .35 * 30 (A is mended) + .1 * 40.
TEST(Published, ACallForWhatWasFoundSavesMore) {
  const double common = 2.0 + 0.65 + 1.65 + 1.5 + 1.25 + 3.0;
  expect_best(with_a_call(25.0), kDear + common + 11.25, 1e-3);
  expect_best(with_a_call(40.0), kDear + common + 10.5 + 4.0, 1e-3);
}

// The published matrix of five tests and six states (planning_facts.test.cpp has its optimum, 2.18): Huffman's code and
// the entropy of its priors are below every plan, and so is the bound given before anything is searched.
TEST(Published, BoundsOfTheTestMatrixAreBelowItsOptimum) {
  plan::Problem problem = plan::hand::with_faults(plan::Goal::kIsolate, {0.70, 0.01, 0.02, 0.10, 0.05, 0.12});
  const std::vector<std::vector<std::size_t>> shown{
      {0, 0, 0, 1, 1, 1}, {0, 1, 0, 0, 1, 1}, {0, 0, 1, 0, 0, 1}, {0, 0, 1, 1, 0, 1}, {0, 1, 0, 1, 0, 0}};
  for (const std::vector<std::size_t>& row : shown) problem.tests.push_back(plan::hand::sure_test("t", 1.0, row));
  expect_best(problem, 2.18);
  plan::DecideOptions nothing;
  nothing.work_budget = 0;
  nothing.exact_states = 0;
  const plan::Decision decision = plan::decide(problem, nothing);
  EXPECT_LE(decision.lower_bound, 2.18 + 1e-9);
  EXPECT_GT(decision.lower_bound, 1.0);
}

}  // namespace
}  // namespace halfsplit
