// SPDX-License-Identifier: Apache-2.0
// A loom that was made and not written yet: `check` of its text, as if it stood at that path, and its drawing.
#pragma once

#include "app/operation.h"

namespace halfsplit::app {

[[nodiscard]] Reply check_text(Context& context, const std::string& path, const std::string& text);
// As `draw` gives it; `dark` for a dark ground.
[[nodiscard]] Reply draw_text(Context& context, const std::string& text, bool dark);

}  // namespace halfsplit::app
