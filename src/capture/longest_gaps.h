// SPDX-License-Identifier: Apache-2.0
// The longest gaps of one sender, at most kKeptGaps of them whatever the length of the recording. Which of them are
// silences is decided at the end, when the sender's period is known.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kKeptGaps = 200;

struct NotedGap {
  Gap gap;
  std::uint64_t order = 0;  // counts all gaps noted, of any sender
  bool claimed = false;
  std::optional<VoltsMark> volts_before, volts_least, volts_after;
};

class LongestGaps {
 public:
  // Whether a gap so long finds a place; asked for every frame.
  [[nodiscard]] bool wants(std::int64_t length_us) const { return length_us > shortest_; }
  [[nodiscard]] std::int64_t longest_unwanted_us() const { return shortest_; }  // only grows
  NotedGap& note(const Gap& gap, std::uint64_t order);
  // Where note() put it; none: a longer one has its place by now.
  [[nodiscard]] NotedGap* find(std::size_t place, std::uint64_t order) {
    return kept_[place].order == order ? &kept_[place] : nullptr;
  }
  [[nodiscard]] std::size_t place_of(const NotedGap& noted) const {
    return static_cast<std::size_t>(&noted - kept_.data());
  }
  [[nodiscard]] const std::vector<NotedGap>& kept() const { return kept_; }  // in no order
  [[nodiscard]] NotedGap* longest_ending_since(std::int64_t at_us);
  // At least so many longer than this were let go.
  [[nodiscard]] std::uint64_t let_go(std::int64_t longer_than_us) const;

 private:
  struct Entry {
    std::int64_t length_us = 0;
    std::uint64_t order = 0;
    std::size_t place = 0;  // in kept_
  };
  static bool stays_longer(const Entry& a, const Entry& b) {
    return a.length_us != b.length_us ? a.length_us > b.length_us : a.order < b.order;
  }
  void replace_top(const Entry& entry);

  static constexpr std::int64_t kNotWorthNoting = 50'000;

  std::int64_t shortest_ = kNotWorthNoting;
  std::vector<NotedGap> kept_;
  std::vector<Entry> heap_;                     // of kept_, the shortest on top
  std::array<std::uint64_t, 64> dropped_ = {};  // by number of binary digits
};

}  // namespace halfsplit::capture
