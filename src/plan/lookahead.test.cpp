// SPDX-License-Identifier: Apache-2.0
#include "plan/lookahead.h"

#include <gtest/gtest.h>

#include "plan/exact.h"
#include "plan/hand_problems.h"
#include "plan/random_problems.h"

namespace halfsplit::plan {
namespace {

struct Bench {
  explicit Bench(const Problem& problem)
      : model(make_model(problem)),
        survey(model, problem.initial_setups),
        relaxed(model),
        start(start_at(survey, start_of(problem))) {}
  Lookahead begin(std::size_t work, const LookaheadOptions& options = {}) {
    Lookahead lookahead(survey, relaxed, options, cancel);
    lookahead.start(start, work);
    return lookahead;
  }
  Model model;
  Survey survey;
  RelaxedBound relaxed;
  Start start;
  base::CancelToken cancel;
};

// Nine suspects in three places, tests that mislead now and then.
Problem three_places() {
  Problem problem = hand::with_faults(Goal::kRepair, {0.2, 0.16, 0.14, 0.12, 0.1, 0.09, 0.08, 0.06, 0.05});
  problem.setups = {{"cab up", 6.0, 4.0, {}, {}}, {"dash off", 3.0, 5.0, {}, {}}, {"key on", 0.5, 0.5, {}, {}}};
  const std::vector<Conditions> place{{hand::set_of({2}), {}}, {hand::set_of({0, 2}), {}}, {hand::set_of({1}), {}}};
  for (std::size_t t = 0; t < 8; ++t) {
    std::vector<double> chance;
    for (std::size_t f = 0; f < 9; ++f) chance.push_back(f <= t ? 0.97 : 0.03);
    problem.tests.push_back(
        hand::unsure_test("after " + std::to_string(t), 1.0 + static_cast<double>(t % 3), chance, place[t / 3]));
  }
  hand::add_own_repairs(problem, {5, 8, 12, 20, 7, 9, 30, 15, 40});
  for (std::size_t f = 3; f < 6; ++f) problem.repairs[f].conditions.needs = hand::set_of({0});
  problem.check = {1.0, {hand::set_of({2}), hand::set_of({0})}};
  return problem;
}

TEST(Lookahead, SeesTheTrap) {
  Bench bench(hand::greedy_trap());
  const Lookahead lookahead = bench.begin(1'000);
  EXPECT_NEAR(lookahead.expected_minutes(), 12.0, 1e-12);
  EXPECT_EQ(lookahead.best(), (Action{ActionKind::kTest, 1}));
}

// Goal kIsolate with uncertain tests: branches end unresolved, some of them where a rollout was closed in a hurry and
// does a test for nothing. (Seed 293 once called that proved.)
TEST(Lookahead, WhatItCallsTheBestIsTheBestWhereBranchesEndUnresolved) {
  for (const std::uint64_t seed : {164U, 293U}) {
    const Problem problem = made_up::make_random_problem(seed, {6, 9, 8, 4, 1.0});
    ASSERT_EQ(problem.goal, Goal::kIsolate);
    Bench bench(problem);
    Lookahead lookahead = bench.begin(150'000);
    lookahead.improve(1'000'000);
    EXPECT_TRUE(lookahead.finished());
    EXPECT_NEAR(lookahead.expected_minutes(), solve_exact(problem).minutes, 1e-9);
  }
}

TEST(Lookahead, MoreWorkIsNeverWorse) {
  Bench bench(three_places());
  Lookahead lookahead = bench.begin(2'000);
  double cost = lookahead.expected_minutes();
  double bound = lookahead.lower_bound();
  for (int round = 0; round < 20; ++round) {
    lookahead.improve(2'000);
    EXPECT_LE(lookahead.expected_minutes(), cost + 1e-12);
    EXPECT_GE(lookahead.lower_bound(), bound - 1e-12);
    EXPECT_LE(lookahead.lower_bound(), lookahead.expected_minutes() + 1e-12);
    cost = lookahead.expected_minutes();
    bound = lookahead.lower_bound();
  }
}

TEST(Lookahead, EnclosesTheBestPlan) {
  Problem problem = three_places();
  problem.faults.resize(5);  // small enough for the exact search
  problem.faults[0].prior += 0.28;
  for (plan::Test& test : problem.tests) test.table.resize(10);
  problem.tests.resize(5);
  problem.repairs.resize(5);
  ASSERT_TRUE(validate(problem).ok());
  const ExactResult exact = solve_exact(problem);
  ASSERT_TRUE(exact.complete);
  Bench bench(problem);
  Lookahead lookahead = bench.begin(100);
  EXPECT_GE(lookahead.expected_minutes(), exact.minutes - 1e-9);
  EXPECT_LE(lookahead.lower_bound(), exact.minutes + 1e-9);
  lookahead.improve(2'000'000);
  EXPECT_TRUE(lookahead.finished());
  EXPECT_NEAR(lookahead.expected_minutes(), exact.minutes, 1e-8);
}

TEST(Lookahead, SameWorkSameAnswer) {
  Bench a(three_places());
  Bench b(three_places());
  Lookahead first = a.begin(5'000);
  Lookahead second = b.begin(5'000);
  first.improve(5'000);
  second.improve(5'000);
  EXPECT_EQ(first.expected_minutes(), second.expected_minutes());
  EXPECT_EQ(first.lower_bound(), second.lower_bound());
  EXPECT_EQ(first.work(), second.work());
}

TEST(Lookahead, MayBeAskedAgainAboutTheSamePlace) {
  Bench bench(three_places());
  Lookahead lookahead = bench.begin(5'000);
  const double cost = lookahead.expected_minutes();
  lookahead.start(bench.start, 5'000);
  EXPECT_EQ(lookahead.expected_minutes(), cost);
}

// A coarser floor closes more branches with the plainest plan: dearer, never cheaper than the truth.
TEST(Lookahead, ClosedBranchesCountInFull) {
  Bench bench(three_places());
  double before = 0.0;
  for (const double floor : {1e-6, 1e-3, 1e-1}) {
    LookaheadOptions options;
    options.floor = floor;
    const double cost = bench.begin(50'000, options).expected_minutes();
    EXPECT_GE(cost, before - 1e-12);
    before = cost;
  }
}

TEST(Lookahead, CancelledItStillHasAnAnswer) {
  Bench bench(three_places());
  bench.cancel.cancel();
  Lookahead lookahead = bench.begin(100'000);
  lookahead.improve(100'000);
  EXPECT_TRUE(lookahead.has_steps());
  EXPECT_LT(lookahead.expected_minutes(), 200.0);
  EXPECT_LT(lookahead.work(), 20'000U);
}

}  // namespace
}  // namespace halfsplit::plan
