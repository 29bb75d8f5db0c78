// SPDX-License-Identifier: Apache-2.0
// What every step into a job does beside its own: open a closed job again, save, say how the suspects stand now.
#pragma once

#include "app/operation.h"
#include "app/session.h"

namespace halfsplit::app {

// Writes the job; the reply with the session's notes and the job's path, or why it could not be written.
[[nodiscard]] Reply saved(Context& context, Session& session, Reply reply);
// The same, and unless it is to be brief, how the suspects stand now. First the entry is written, then it is thought
// about: what ends the program while it thinks loses nothing.
[[nodiscard]] Reply saved_with_standing(Context& context, Session& session, Reply reply, bool brief);
// A closed job that goes on is open again, and says so.
void reopen(Session& session, Reply& reply);

}  // namespace halfsplit::app
