// SPDX-License-Identifier: Apache-2.0
// What a recording tells, for programs: docs/formats/replies.md, `capture`.
#pragma once

#include "app/capture_words.h"
#include "app/operation.h"

namespace halfsplit::app {

// `slots`: also each sender's frames and the supply, slot by slot.
[[nodiscard]] Json capture_json(const CaptureReport& report, bool slots = false);

}  // namespace halfsplit::app
