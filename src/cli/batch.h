// SPDX-License-Identifier: Apache-2.0
// JSON lines in, JSON lines out: one request a line, one reply a line, in order, flushed. A bad line gets an error
// reply and the loop goes on.
#pragma once

#include <iosfwd>

#include "app/operation.h"

namespace halfsplit::cli {

[[nodiscard]] int run_batch(app::Context& context, std::istream& in, std::ostream& out);

}  // namespace halfsplit::cli
