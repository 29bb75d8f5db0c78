// SPDX-License-Identifier: Apache-2.0
// The loop at the keyboard: it shows the next test, takes the number, shows the next. Words: a value; undo, skip, why,
// suspects, status, proof, sheet, did ..., saw ..., expect ..., help, quit. Names complete with the tab key. Plain
// lines when piped.
#pragma once

#include <string>

#include "app/operation.h"

namespace halfsplit::cli {

[[nodiscard]] int run_work(app::Context& context, const std::string& job);

}  // namespace halfsplit::cli
