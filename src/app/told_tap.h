// SPDX-License-Identifier: Apache-2.0
// Where a bus is recorded, as the user says it.
#pragma once

#include <string>

#include "app/loaded_loom.h"
#include "evidence/observable.h"

namespace halfsplit::app {

// `bus`, `red` and `black` of a recording. `bus` empty: the only one with a drawn reader, or the only one; `at` empty:
// at the drawn reader, else "HIGH-POINT LOW-POINT". Errors: witness.no-bus, witness.which-bus, and those of
// evidence/recorded_text.h.
[[nodiscard]] base::Result<evidence::Observable> told_tap(const LoadedLoom& loom, std::string bus,
                                                          const std::string& at);

}  // namespace halfsplit::app
