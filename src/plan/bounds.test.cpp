// SPDX-License-Identifier: Apache-2.0
// The bounds are held against the exact optimum in tests/twins and exact.test.cpp; here against numbers worked out by
// hand.
#include "plan/bounds.h"

#include <gtest/gtest.h>

#include <cmath>

#include "plan/gain.h"
#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

using hand::set_of;

struct Bench {
  explicit Bench(const Problem& problem)
      : model(make_model(problem)),
        moves(model.setups, model.conditions, model.undo_at_end),
        bounds(model, moves),
        stack(model),
        gain(model) {
    std::vector<double> weights;
    for (const Fault& fault : problem.faults) weights.push_back(fault.prior);
    all = stack.push(fold_weights(model, weights));
    gain.look_at(all);
    for (std::size_t t = 0; t < problem.tests.size(); ++t) tests.push_back(static_cast<std::uint16_t>(t));
  }
  double finding_out(const SetupSet& made) { return bounds.finding_out(1.0, gain.group_bits(), moves.number_of(made)); }
  double finding_out_sharply(const SetupSet& made) {
    return bounds.finding_out(all, gain.group_bits(), moves.number_of(made), tests);
  }

  Model model;
  SetupMoves moves;
  Bounds bounds;
  BeliefStack stack;
  Gain gain;
  Belief all;
  std::vector<std::uint16_t> tests;
};

// 0 cab up (6, 4), 1 key on (1, 2). Fault 0 is mended with the cab up in 10, fault 1 anywhere in 20; the check (3)
// wants the key on and the cab down.
Problem two_places() {
  Problem problem = hand::with_faults(Goal::kRepair, {0.5, 0.5});
  problem.setups = {{"cab up", 6.0, 4.0, {}, {}}, {"key on", 1.0, 2.0, {}, {}}};
  hand::add_own_repairs(problem, {10.0, 20.0});
  problem.repairs[0].conditions.needs = set_of({0});
  problem.check = {3.0, {set_of({1}), set_of({0})}};
  return problem;
}

TEST(Unavoidable, IsTheRightRepairWithItsSetupsAndProof) {
  Bench bench(two_places());
  const SetNumber none = bench.moves.number_of({});
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(0, none), 6.0 + 10.0 + 4.0 + 1.0 + 3.0 + 2.0);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(1, none), 20.0 + 1.0 + 3.0 + 2.0);
  const SetNumber both = bench.moves.number_of(set_of({0, 1}));
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(0, both), 10.0 + 4.0 + 3.0 + 2.0);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(1, both), 20.0 + 4.0 + 3.0 + 2.0);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(bench.all, both), 0.5 * 19.0 + 0.5 * 29.0);
}

TEST(Unavoidable, TakesTheCheapestRepairOfSeveral) {
  Problem problem = two_places();
  problem.repairs.push_back({"the lot", {FaultId(0), FaultId(1)}, 12.0, 0.0, {}});
  Bench bench(problem);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(0, bench.moves.number_of({})), 12.0 + 1.0 + 3.0 + 2.0);
}

TEST(Unavoidable, WithoutUndoingAtTheEndNothingMadeIsPaidFor) {
  Problem problem = two_places();
  problem.undo_at_end = false;
  Bench bench(problem);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(1, bench.moves.number_of({})), 20.0 + 1.0 + 3.0);
  EXPECT_DOUBLE_EQ(bench.bounds.unavoidable(1, bench.moves.number_of(set_of({0, 1}))), 20.0 + 4.0 + 3.0);
}

// Eight even faults, one-minute tests with two outcomes each: three bits cost three minutes.
TEST(FindingOut, AMinuteABitForUnitTests) {
  Problem problem = hand::with_faults(Goal::kIsolate, std::vector<double>(8, 0.125));
  problem.tests = {hand::sure_test("a", 1.0, {0, 0, 0, 0, 1, 1, 1, 1}),
                   hand::sure_test("b", 1.0, {0, 0, 1, 1, 0, 0, 1, 1}),
                   hand::sure_test("c", 1.0, {0, 1, 0, 1, 0, 1, 0, 1})};
  Bench bench(problem);
  EXPECT_LE(bench.finding_out({}), 3.0 + 1e-9);
  EXPECT_GE(bench.finding_out({}), 2.9);
  EXPECT_LE(bench.finding_out_sharply({}), 3.0 + 1e-9);
}

// The same behind a panel that costs 10 there and back: its minutes are in the bound until it is open.
TEST(FindingOut, ChargesSetupsThatOnlyTestsNeed) {
  Problem problem = hand::with_faults(Goal::kIsolate, {0.25, 0.25, 0.25, 0.25});
  problem.setups = {{"panel", 6.0, 4.0, {}, {}}};
  const Conditions inside{set_of({0}), {}};
  problem.tests = {hand::sure_test("a", 1.0, {0, 0, 1, 1}, inside), hand::sure_test("b", 1.0, {0, 1, 0, 1}, inside)};
  Bench bench(problem);
  EXPECT_LE(bench.finding_out({}), 12.0 + 1e-9);
  EXPECT_GE(bench.finding_out({}), 11.0);
  EXPECT_LE(bench.finding_out(set_of({0})), 2.0 + 1e-9);
}

// n even faults, repairs of one minute each and no tests: (n - 1) / 2 failures on average.
TEST(FindingOut, RepairsTriedInTurnAreTight) {
  Problem problem = hand::with_faults(Goal::kRepair, std::vector<double>(5, 0.2));
  hand::add_own_repairs(problem, std::vector<double>(5, 1.0));
  Bench bench(problem);
  EXPECT_LE(bench.finding_out({}), 2.0 + 1e-9);
  EXPECT_GE(bench.finding_out({}), 1.9);
}

// A test that can tell only a rare fault from the rest has little to give, whatever its capacity: only the sharp form
// knows.
TEST(FindingOut, TheSharpFormLooksAtTheBelief) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.49, 0.49, 0.02});
  problem.tests = {hand::sure_test("rare", 1.0, {0, 0, 1})};
  hand::add_own_repairs(problem, {30.0, 30.0, 30.0});
  Bench bench(problem);
  EXPECT_GT(bench.finding_out_sharply({}), bench.finding_out({}) + 1.0);
  EXPECT_LE(bench.finding_out_sharply({}), 0.49 * 30.0 + 0.02 * 60.0 + 1e-9);  // of a plan: repairs in turn
}

// The cab goes up for either repair anyway: raising it for a test is not paid for twice.
TEST(FindingOut, DoesNotChargeWhatTheRepairNeeds) {
  Problem problem = hand::with_faults(Goal::kRepair, {0.5, 0.5});
  problem.setups = {{"cab up", 6.0, 4.0, {}, {}}};
  const Conditions under{set_of({0}), {}};
  problem.tests = {hand::sure_test("t", 1.0, {0, 1}, under)};
  hand::add_own_repairs(problem, {30.0, 30.0});
  for (Repair& repair : problem.repairs) repair.conditions = under;
  Bench bench(problem);
  EXPECT_LE(bench.finding_out({}), 1.0 + 1e-9);
  EXPECT_LE(bench.finding_out_sharply({}), 1.0 + 1e-9);
  EXPECT_GE(bench.finding_out_sharply({}), 0.9);
}

TEST(FindingOut, NothingWhenItIsKnown) {
  Problem problem = hand::with_faults(Goal::kRepair, {1.0});
  hand::add_own_repairs(problem, {30.0});
  Bench bench(problem);
  EXPECT_DOUBLE_EQ(bench.finding_out({}), 0.0);
}

}  // namespace
}  // namespace halfsplit::plan
