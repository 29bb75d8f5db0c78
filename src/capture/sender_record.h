// SPDX-License-Identifier: Apache-2.0
// What is kept of a sender while frames pass by.
#pragma once

#include <cstdint>
#include <vector>

#include "capture/findings.h"
#include "capture/longest_gaps.h"

namespace halfsplit::capture {

struct SenderRecord {
  Mark last;
  SenderKey key;
  LongestGaps gaps;
  Mark first;
  bool claimed_at_first = false;    // an address claim soon after its first frame
  std::vector<std::uint32_t> rate;  // frames by slot

  void count_in_slot(std::size_t slot, std::uint32_t frames) {
    if (slot >= rate.size()) rate.resize(slot + 1);
    rate[slot] += frames;
  }
};

}  // namespace halfsplit::capture
