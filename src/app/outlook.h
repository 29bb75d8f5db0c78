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
  std::vector<candidates::SuspectRows> suspects;  // the last: "not on this drawing"; before it perhaps "mended"
  std::vector<candidates::Candidate> candidates;  // all that was considered
  std::vector<candidates::Test> tests;            // the chosen ones; Test::candidate points into candidates
  candidates::BuiltProblem built;
  std::vector<candidates::Test> rough;          // all of them, by each suspect's likeliest severity alone
  std::vector<std::vector<std::string>> alike;  // suspects no test offered can part
};

// What a second visit costs: the road there and back, and beginning anew.
[[nodiscard]] double return_minutes(const job::Kit& kit);

// After a repair: may it have mended all? Weighed, that is one more suspect, and to leave the vehicle one more thing to
// do; left out, the vehicle is taken not to be mended.
enum class Mended : std::uint8_t { kLeftOut, kWeighed };

// Repairs done count as done; tests skipped are left out, and those that take longer than `within_minutes`, putting
// back included.
[[nodiscard]] Outlook look_ahead(Context& context, Session& session,
                                 double within_minutes = std::numeric_limits<double>::infinity(),
                                 Mended mended = Mended::kLeftOut);

}  // namespace halfsplit::app
