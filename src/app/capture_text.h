// SPDX-License-Identifier: Apache-2.0
// What a recording tells, for people: what stands out, then who is on the bus, silences, codes, requests, load.
#pragma once

#include "app/capture_words.h"

namespace halfsplit::app {

[[nodiscard]] std::string capture_text(const CaptureReport& report, bool every_message);

}  // namespace halfsplit::app
