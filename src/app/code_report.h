// SPDX-License-Identifier: Apache-2.0
// The list of codes against belief: a line each - explained by the first suspect, not explained, expected and missing -
// and those that have nothing to do with the rest.
#pragma once

#include "app/operation.h"
#include "app/session.h"

namespace halfsplit::app {

// Chance that a code that was seen is there for a reason that has nothing to do with the fault: over all hypotheses,
// their probability times what a vehicle without fault shows it with, divided by what they show it with (1 at most).
// "Not on this drawing" says nothing and counts for nothing. `column`: of the evidence.
[[nodiscard]] double chance_of_other_reason(Session& session, const Belief& belief, std::size_t column);

// Adds "Codes" and "Other codes" to the text, `codes` and `other_codes` to the result. Nothing without codes.
void add_codes(Session& session, const Belief& belief, Reply& reply);

}  // namespace halfsplit::app
