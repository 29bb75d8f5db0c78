// SPDX-License-Identifier: Apache-2.0
// What stands out in a recording, as sentences, the most telling first. What the rules are: docs/capture.md.
#pragma once

#include "app/capture_words.h"

namespace halfsplit::app {

struct CaptureRemark {
  std::string kind;  // for programs: "quiet-together", "address-conflict", ...
  std::string text;
  std::vector<std::uint64_t> lines;  // where to look; a few
};

[[nodiscard]] std::vector<CaptureRemark> capture_remarks(const CaptureReport& report);

// "15.4 V (SPN 168) by SA 0 (engine 1) at 3.000 s, line 40"
[[nodiscard]] std::string volts_text(const CaptureReport& report, const capture::VoltsMark& volts);
// Share of the bit rate, 0 to 1: mean over the recording and in the busiest tenth of a second.
[[nodiscard]] double mean_load(const CaptureReport& report, const capture::ChannelLoad& load);
[[nodiscard]] double peak_load(const capture::ChannelLoad& load);

}  // namespace halfsplit::app
