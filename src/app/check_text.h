// SPDX-License-Identifier: Apache-2.0
// A loom that was made and not written yet: `check` of its text, as if it stood at that path.
#pragma once

#include "app/operation.h"

namespace halfsplit::app {

[[nodiscard]] Reply check_text(Context& context, const std::string& path, const std::string& text);

}  // namespace halfsplit::app
