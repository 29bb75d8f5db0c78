// SPDX-License-Identifier: Apache-2.0
// What to mind of an act on this vehicle, as it stands in a job: whether it may be done at all, and the cautions.
#pragma once

#include <string>
#include <vector>

#include "app/session.h"
#include "base/diagnostic.h"
#include "candidates/state.h"

namespace halfsplit::app {

// What must not be done to this vehicle on anybody's word; empty: it may.
[[nodiscard]] std::vector<base::Diagnostic> refused_act(Session& session, const candidates::Act& act);
// Where the act is, and of what is fitted also what its current could reach.
[[nodiscard]] std::vector<std::string> deed_cautions(Session& session, const candidates::Act& act, bool make);

}  // namespace halfsplit::app
