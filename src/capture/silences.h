// SPDX-License-Identifier: Apache-2.0
// Who went quiet when, together with whom, while who went on: from the longest gaps of every sender. The rules with
// their numbers: docs/capture.md, "Silences".
#pragma once

#include <vector>

#include "capture/findings.h"
#include "capture/sender_record.h"

namespace halfsplit::capture {

constexpr std::int64_t kTogetherUs = 20'000;  // beside the period of each: how far apart is still one moment

struct SilenceInputs {
  const std::vector<SenderRecord>& records;
  const std::vector<std::size_t>& order;  // record of each of findings.senders
  const LongestGaps& nobody;              // gaps of all senders together
};

// Fills events, patterns, more_silences and late; findings.senders are there.
void find_silences(const SilenceInputs& inputs, Findings& findings);

}  // namespace halfsplit::capture
