// SPDX-License-Identifier: Apache-2.0
// What is kept of a sender while frames pass by.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "capture/findings.h"
#include "capture/longest_gaps.h"

namespace halfsplit::capture {

// What every frame touches stands in its first 64 bytes, one line of the cache.
struct alignas(64) SenderRecord {
  Mark last;
  std::uint32_t in_slot = 0;  // frames in the slot under way, not yet in `rate`
  SenderKey key;
  LongestGaps gaps;
  Mark first;
  bool claimed_at_first = false;    // an address claim soon after its first frame
  std::vector<std::uint32_t> rate;  // frames by slot

  void end_slot(std::size_t slot) {
    if (in_slot == 0) return;
    if (slot >= rate.size()) rate.resize(slot + 1);
    rate[slot] += std::exchange(in_slot, 0);
  }
};

}  // namespace halfsplit::capture
