// SPDX-License-Identifier: Apache-2.0
// Time cut into at most kMostSlots equal slots. When the recording outgrows them, the slots become twice as long and
// each two are put together, so that a recording of any length fits.
#pragma once

#include <cstdint>
#include <vector>

namespace halfsplit::capture {

constexpr std::size_t kMostSlots = 512;
constexpr std::int64_t kFirstSlotUs = 100'000;

class SlotClock {
 public:
  // Goes on to `at_us`; gives how many times the slots have to be paired first.
  [[nodiscard]] int advance(std::int64_t at_us) {
    int pairings = 0;
    for (; at_us / width_ >= static_cast<std::int64_t>(kMostSlots); ++pairings) width_ *= 2;
    return pairings;
  }
  // The slot of what is no later than that.
  [[nodiscard]] std::size_t index(std::int64_t at_us) const { return static_cast<std::size_t>(at_us / width_); }
  [[nodiscard]] std::int64_t width_us() const { return width_; }

 private:
  std::int64_t width_ = kFirstSlotUs;
};

// Slots 0 and 1 become 0, 2 and 3 become 1, ...; `merge(a, b)` puts b into a.
template <class T, class Merge>
void pair_slots(std::vector<T>& slots, Merge merge) {
  for (std::size_t s = 0; s < slots.size(); s += 2) {
    if (s + 1 < slots.size()) merge(slots[s], slots[s + 1]);
    slots[s / 2] = slots[s];
  }
  slots.resize((slots.size() + 1) / 2);
}

}  // namespace halfsplit::capture
