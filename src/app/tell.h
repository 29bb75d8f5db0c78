// SPDX-License-Identifier: Apache-2.0
// What several operations tell about a job that is open already: each reply as its own operation gives it.
#pragma once

#include <optional>

#include "app/operation.h"
#include "app/session.h"

namespace halfsplit::app {

// As `status`.
[[nodiscard]] Reply tell_status(Session& session);
// As `suspects`; `quick`: without asking which of them tests can part.
[[nodiscard]] Reply tell_suspects(Context& context, Session& session, bool all, bool quick);
// As `next`. The test proposed is noted in the session's job, which is not yet saved: see save_asked.
[[nodiscard]] Reply tell_next(Context& context, Session& session, double within_minutes);
// Writes the job when another test is asked for than `before`: to look again at the same proposal changes nothing.
[[nodiscard]] base::Result<base::Done> save_asked(Context& context, const Session& session,
                                                  const std::optional<job::Asked>& before);
// As `proof`.
[[nodiscard]] Reply tell_proof(Context& context, Session& session);

}  // namespace halfsplit::app
