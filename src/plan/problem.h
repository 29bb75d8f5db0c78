// SPDX-License-Identifier: Apache-2.0
// A planning problem: what may be wrong, what can be tested and mended, and what everything costs in minutes.
// Exactly one fault is present. All costs are minutes (money enters as extra_minutes). A plain value; whoever makes it
// calls validate() once; every other function of this room takes a valid problem for granted.
//
// Setups: a setup may be made only while all its needs are made, and none of those is undone while it is made; two
// setups that exclude each other (either one naming the other) are never made together. An action can be done in any
// legal set of setups that holds all it needs and nothing it forbids; getting there costs do_minutes and undo_minutes
// of what changes. When the job ends, all that is made is undone and paid for, unless undo_at_end is false. Tests: a
// second go would only repeat the first outcome, so none is done twice; different tests are independent given the
// fault. Goal kRepair: the job ends when a repair that mends the fault is done and the check has proved it; a check
// that fails rules out all the repair mends. Goal kIsolate: the job ends when all faults still possible belong to one
// repair (or, where no repair covers them, are one fault); repairs are not done.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/ids.h"
#include "base/result.h"
#include "plan/setup_set.h"

namespace halfsplit::plan {

struct PlannedFaultTag;
struct PlannedTestTag;
struct PlannedRepairTag;
using FaultId = base::Id<PlannedFaultTag>;
using TestId = base::Id<PlannedTestTag>;
using RepairId = base::Id<PlannedRepairTag>;

enum class Goal { kRepair, kIsolate };

struct Fault {
  std::string name;
  double prior = 0.0;  // probability now; a fault that is ruled out may stay in the list with 0
};

struct Setup {
  std::string name;
  double do_minutes = 0.0;
  double undo_minutes = 0.0;
  SetupSet needs;
  SetupSet excludes;
};

struct Conditions {
  SetupSet needs;
  SetupSet forbids;
  friend bool operator==(const Conditions&, const Conditions&) = default;
};

struct Test {
  std::string name;
  double minutes = 0.0;        // of the test itself, without setups
  double extra_minutes = 0.0;  // any other cost of doing it (money, risk), as minutes
  Conditions conditions;
  std::vector<std::string> outcomes;  // names
  std::vector<double> table;          // P(outcome | fault), row by row: table[fault * outcomes.size() + outcome]
};

struct Repair {
  std::string name;
  std::vector<FaultId> mends;
  double minutes = 0.0;
  double extra_minutes = 0.0;  // the part, a return visit ..., as minutes
  Conditions conditions;
};

// The proof after a repair.
struct Check {
  double minutes = 0.0;
  Conditions conditions;
};

struct Problem {
  Goal goal = Goal::kRepair;
  std::vector<Fault> faults;
  std::vector<Setup> setups;
  std::vector<Test> tests;      // those not yet done
  std::vector<Repair> repairs;  // those not yet tried
  Check check;
  SetupSet initial_setups;  // made when the plan starts
  bool undo_at_end = true;
};

// Errors (several at once): plan.no-fault, plan.bad-prior, plan.priors-sum, plan.too-many-setups, plan.bad-minutes,
// plan.unknown-setup, plan.needs-circle, plan.setup-conflict, plan.initial-setups, plan.bad-table, plan.unknown-fault,
// plan.no-repair, plan.too-many-outcomes.
[[nodiscard]] base::Result<base::Done> validate(const Problem& problem);

}  // namespace halfsplit::plan
