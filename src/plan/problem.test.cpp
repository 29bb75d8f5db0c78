// SPDX-License-Identifier: Apache-2.0
#include "plan/problem.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

using hand::set_of;

Problem sound() {
  Problem problem = hand::one_panel();
  problem.goal = Goal::kRepair;
  hand::add_own_repairs(problem, {5.0, 6.0, 7.0});
  return problem;
}

bool complains(const Problem& problem, const std::string& code) {
  const auto result = validate(problem);
  return !result.ok() && std::any_of(result.diagnostics().begin(), result.diagnostics().end(),
                                     [&](const base::Diagnostic& d) { return d.code == code && !d.message.empty(); });
}

TEST(Validate, TakesSoundProblems) {
  EXPECT_TRUE(validate(sound()).ok());
  EXPECT_TRUE(validate(hand::repairs_only()).ok());
  Problem ruled_out = sound();  // a fault with 0 stays in the list and needs no repair
  ruled_out.faults[0].prior = 0.0;
  ruled_out.faults[1].prior = 0.8;
  ruled_out.repairs.erase(ruled_out.repairs.begin());
  EXPECT_TRUE(validate(ruled_out).ok());
}

struct Spoiled {
  const char* code;
  std::function<void(Problem&)> spoil;
};

TEST(Validate, NamesWhatIsWrong) {
  const std::vector<Spoiled> cases{
      {"plan.no-fault", [](Problem& p) { p.faults.clear(); }},
      {"plan.bad-prior", [](Problem& p) { p.faults[0].prior = -0.1; }},
      {"plan.bad-prior", [](Problem& p) { p.faults[0].prior = std::nan(""); }},
      {"plan.priors-sum", [](Problem& p) { p.faults[0].prior = 0.6; }},
      {"plan.too-many-setups", [](Problem& p) { p.setups.resize(257); }},
      {"plan.bad-minutes", [](Problem& p) { p.setups[0].undo_minutes = -1.0; }},
      {"plan.bad-minutes", [](Problem& p) { p.tests[0].minutes = INFINITY; }},
      {"plan.bad-minutes", [](Problem& p) { p.repairs[0].extra_minutes = -1.0; }},
      {"plan.bad-minutes", [](Problem& p) { p.check.minutes = -1.0; }},
      {"plan.unknown-setup", [](Problem& p) { p.tests[0].conditions.needs = set_of({7}); }},
      {"plan.unknown-setup", [](Problem& p) { p.setups[0].excludes = set_of({7}); }},
      {"plan.unknown-setup", [](Problem& p) { p.initial_setups = set_of({7}); }},
      {"plan.needs-circle", [](Problem& p) { p.setups[0].needs = set_of({0}); }},
      {"plan.setup-conflict", [](Problem& p) { p.setups[0].excludes = set_of({0}); }},
      {"plan.setup-conflict",
       [](Problem& p) {
         p.check.conditions = {set_of({0}), set_of({0})};
       }},
      {"plan.bad-table", [](Problem& p) { p.tests[0].table.pop_back(); }},
      {"plan.bad-table", [](Problem& p) { p.tests[0].table[0] = 0.7; }},
      {"plan.bad-table", [](Problem& p) { p.tests[0].table[0] = -0.5, p.tests[0].table[1] = 1.5; }},
      {"plan.too-many-outcomes", [](Problem& p) { p.tests[0].outcomes.resize(256); }},
      {"plan.unknown-fault", [](Problem& p) { p.repairs[0].mends.emplace_back(9); }},
      {"plan.no-repair", [](Problem& p) { p.repairs.pop_back(); }},
  };
  for (const Spoiled& spoiled : cases) {
    Problem problem = sound();
    spoiled.spoil(problem);
    EXPECT_TRUE(complains(problem, spoiled.code)) << spoiled.code;
  }
}

TEST(Validate, SeesConflictsThroughNeeds) {
  Problem problem = sound();
  problem.setups.push_back({"isolated", 1.0, 1.0, {}, set_of({0})});
  problem.setups.push_back({"bench", 1.0, 1.0, set_of({1}), {}});
  problem.tests[1].conditions.needs = set_of({0, 2});  // the panel, and by way of the bench what excludes it
  EXPECT_TRUE(complains(problem, "plan.setup-conflict"));
  problem.tests[1].conditions.needs = set_of({0});
  problem.initial_setups = set_of({2});
  EXPECT_TRUE(complains(problem, "plan.initial-setups"));
  problem.initial_setups = set_of({0, 1});
  EXPECT_TRUE(complains(problem, "plan.initial-setups"));
  problem.initial_setups = set_of({1, 2});
  EXPECT_TRUE(validate(problem).ok());
}

TEST(Validate, ReportsSeveralAtOnce) {
  Problem problem = sound();
  problem.tests[0].minutes = -1.0;
  problem.repairs.pop_back();
  EXPECT_EQ(validate(problem).diagnostics().size(), 2U);
}

}  // namespace
}  // namespace halfsplit::plan
