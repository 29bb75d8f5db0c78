// SPDX-License-Identifier: Apache-2.0
// What a recording tells, for programs: docs/formats/replies.md, `capture`.
#pragma once

#include "app/capture_words.h"
#include "app/operation.h"

namespace halfsplit::app {

[[nodiscard]] Json capture_json(const CaptureReport& report);

}  // namespace halfsplit::app
