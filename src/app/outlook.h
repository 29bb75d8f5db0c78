// SPDX-License-Identifier: Apache-2.0
// What could be done from here and what it would tell: the leading suspects, the tests worth weighing with the chance
// of each outcome under each suspect, and the planning problem they make. `next` takes one decision from it, `plan` the
// whole strategy.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "app/session.h"
#include "candidates/problem.h"

namespace halfsplit::app {

struct Outlook {
  candidates::Roll roll;
  std::vector<candidates::SuspectRows> suspects;  // the last: "not on this drawing"
  std::vector<candidates::Candidate> candidates;  // all that was considered
  std::vector<candidates::Test> tests;            // the chosen ones; Test::candidate points into candidates
  candidates::BuiltProblem built;
  std::vector<candidates::Test> rough;          // all of them, by each suspect's likeliest severity alone
  std::vector<std::vector<std::string>> alike;  // suspects no test offered can part
};

// Repairs done count as done; tests skipped are left out, and those that take longer than `within_minutes`, putting
// back included.
[[nodiscard]] Outlook look_ahead(Context& context, Session& session,
                                 double within_minutes = std::numeric_limits<double>::infinity());

}  // namespace halfsplit::app
