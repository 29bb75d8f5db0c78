// SPDX-License-Identifier: Apache-2.0
// What is kept of a sender while frames pass by.
#pragma once

#include <vector>

#include "capture/findings.h"
#include "capture/longest_gaps.h"

namespace halfsplit::capture {

struct SenderRecord {
  SenderKey key;
  std::uint64_t frames = 0;
  Mark first, last;
  LongestGaps gaps;
  bool claimed_at_first = false;    // an address claim soon after its first frame
  std::vector<std::uint32_t> rate;  // frames by slot
};

}  // namespace halfsplit::capture
