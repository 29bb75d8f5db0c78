// SPDX-License-Identifier: Apache-2.0
// The whole strategy from here to a proven repair, told in the drawing's words.
#pragma once

#include "app/outlook.h"
#include "plan/tree.h"
#include "report/plan_sheet.h"

namespace halfsplit::app {

struct Strategy {
  Outlook outlook;
  plan::PlanTree tree;
  double lower_bound_minutes = 0.0;
  bool exact = false;
  // By node of the tree: how probable each of Outlook::suspects is there; sums to 1.
  std::vector<std::vector<double>> beliefs;
};

// `least_chance`: branches less likely than this are cut.
[[nodiscard]] Strategy make_strategy(Context& context, Session& session, double least_chance);

[[nodiscard]] report::PlanSheet plan_sheet(const Session& session, const Strategy& strategy, double least_chance);

// How likely the job is done, everything put back, within so many minutes.
[[nodiscard]] double chance_within(const plan::PlanTree& tree, double minutes);

// How likely a step of the strategy is taken that `asks` is true of, once at least.
using StepTest = std::function<bool(const plan::PlanNode&)>;
[[nodiscard]] double chance_of_use(const plan::PlanTree& tree, const StepTest& asks);

}  // namespace halfsplit::app
