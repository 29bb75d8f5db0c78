// SPDX-License-Identifier: Apache-2.0
#include "capture/longest_gaps.h"

#include <algorithm>
#include <bit>

namespace halfsplit::capture {

namespace {

bool longer_gap(const NotedGap& a, const NotedGap& b) {
  return a.gap.length_us() != b.gap.length_us() ? a.gap.length_us() > b.gap.length_us() : a.order < b.order;
}

// All kept gaps of all senders are more than fit near the core.
void fetch_ahead(const NotedGap& noted) {
  constexpr std::size_t kCacheLine = 64;
  const char* at = reinterpret_cast<const char*>(&noted);
  for (std::size_t b = 0; b < sizeof noted; b += kCacheLine) __builtin_prefetch(at + b, 1);
}

}  // namespace

NotedGap& LongestGaps::note(const Gap& gap, std::uint64_t order) {
  Entry entry{gap.length_us(), order, kept_.size()};
  if (kept_.size() == kKeptGaps) {
    const Entry& gone = heap_.front();
    ++dropped_[static_cast<std::size_t>(std::bit_width(static_cast<std::uint64_t>(gone.length_us)))];
    entry.place = gone.place;
    fetch_ahead(kept_[entry.place]);
    replace_top(entry);
  } else {
    kept_.emplace_back();
    heap_.push_back(entry);
    std::push_heap(heap_.begin(), heap_.end(), [](const Entry& a, const Entry& b) { return stays_longer(a, b); });
  }
  if (heap_.size() == kKeptGaps) shortest_ = heap_.front().length_us;
  NotedGap& noted = kept_[entry.place];
  noted = {};
  noted.gap = gap;
  noted.order = order;
  return noted;
}

// Sinks until both below it stay longer.
void LongestGaps::replace_top(const Entry& entry) {
  std::size_t at = 0;
  for (std::size_t below = 1; below < heap_.size(); below = 2 * at + 1) {
    if (below + 1 < heap_.size() && stays_longer(heap_[below], heap_[below + 1])) ++below;
    if (stays_longer(heap_[below], entry)) break;
    heap_[at] = heap_[below];
    at = below;
  }
  heap_[at] = entry;
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
