// SPDX-License-Identifier: Apache-2.0
// The workshop's profile as operations find it: behind the path "profile:".
#pragma once

#include "app/operation.h"
#include "job/profile.h"

namespace halfsplit::app {

// The usual one where there is none. Errors: those of the file and of its reader.
[[nodiscard]] base::Result<job::Profile> load_profile(Context& context);

}  // namespace halfsplit::app
