// SPDX-License-Identifier: Apache-2.0
#include "capture/longest_gaps.h"

#include <algorithm>
#include <bit>

namespace halfsplit::capture {

namespace {

bool longer_gap(const NotedGap& a, const NotedGap& b) {
  return a.gap.length_us() != b.gap.length_us() ? a.gap.length_us() > b.gap.length_us() : a.order < b.order;
}

}  // namespace

NotedGap& LongestGaps::note(const Gap& gap, std::uint64_t order) {
  if (kept_.size() == kKeptGaps) {
    std::pop_heap(kept_.begin(), kept_.end(), longer_gap);
    ++dropped_[static_cast<std::size_t>(std::bit_width(static_cast<std::uint64_t>(kept_.back().gap.length_us())))];
    kept_.pop_back();
  }
  kept_.emplace_back();
  kept_.back().gap = gap;
  kept_.back().order = order;
  std::push_heap(kept_.begin(), kept_.end(), longer_gap);
  if (kept_.size() == kKeptGaps) shortest_ = kept_.front().gap.length_us();
  return *find(order);
}

NotedGap* LongestGaps::find(std::uint64_t order) {
  const auto found = std::find_if(kept_.begin(), kept_.end(), [order](const NotedGap& g) { return g.order == order; });
  return found == kept_.end() ? nullptr : &*found;
}

NotedGap* LongestGaps::longest_ending_since(std::int64_t at_us) {
  NotedGap* longest = nullptr;
  for (NotedGap& noted : kept_)
    if (noted.gap.after.at_us >= at_us && (longest == nullptr || longer_gap(noted, *longest))) longest = &noted;
  return longest;
}

std::uint64_t LongestGaps::let_go(std::int64_t longer_than_us) const {
  std::uint64_t sum = 0;
  const auto digits = static_cast<std::size_t>(std::bit_width(static_cast<std::uint64_t>(longer_than_us)));
  for (std::size_t d = digits + 1; d < dropped_.size(); ++d) sum += dropped_[d];
  return sum;
}

}  // namespace halfsplit::capture
