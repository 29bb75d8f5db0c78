// SPDX-License-Identifier: Apache-2.0
// The list that a fault would throw: codes by module, and the modules that would not answer the reader.
#pragma once

#include "app/operation.h"

namespace halfsplit::app {

// `expect --codes`: healthy, and under each of --if; of a job without --if under its three likeliest suspects. The
// state is the job's and --with; of a loom alone the vehicle at work.
[[nodiscard]] Reply expect_codes(Context& context, const Arguments& arguments);

}  // namespace halfsplit::app
