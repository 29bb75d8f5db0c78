// SPDX-License-Identifier: Apache-2.0
// A set of setups (cab raised, key on, a plug undone ...) as 256 bits: a plain value, compared and copied freely, with
// no memory of its own. Setups are numbered as in Problem::setups.
#pragma once

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>

#include "base/ids.h"

namespace halfsplit::plan {

struct PlannedSetupTag;
using SetupId = base::Id<PlannedSetupTag>;

inline constexpr std::size_t kMaxSetups = 256;

class SetupSet {
 public:
  constexpr SetupSet() = default;

  constexpr void insert(SetupId s) { words_[s.index() / 64] |= std::uint64_t{1} << (s.index() % 64); }
  constexpr void erase(SetupId s) { words_[s.index() / 64] &= ~(std::uint64_t{1} << (s.index() % 64)); }
  [[nodiscard]] constexpr bool contains(SetupId s) const {
    return ((words_[s.index() / 64] >> (s.index() % 64)) & 1U) != 0;
  }
  [[nodiscard]] constexpr bool contains(const SetupSet& other) const { return (other - *this).empty(); }
  [[nodiscard]] constexpr bool meets(const SetupSet& other) const { return !(*this & other).empty(); }
  [[nodiscard]] constexpr bool empty() const { return (words_[0] | words_[1] | words_[2] | words_[3]) == 0; }
  [[nodiscard]] constexpr std::size_t size() const {
    std::size_t count = 0;
    for (const std::uint64_t word : words_) count += static_cast<std::size_t>(std::popcount(word));
    return count;
  }

  friend constexpr SetupSet operator|(SetupSet a, const SetupSet& b) {
    for (std::size_t i = 0; i < kWords; ++i) a.words_[i] |= b.words_[i];
    return a;
  }
  friend constexpr SetupSet operator&(SetupSet a, const SetupSet& b) {
    for (std::size_t i = 0; i < kWords; ++i) a.words_[i] &= b.words_[i];
    return a;
  }
  friend constexpr SetupSet operator-(SetupSet a, const SetupSet& b) {
    for (std::size_t i = 0; i < kWords; ++i) a.words_[i] &= ~b.words_[i];
    return a;
  }
  friend constexpr bool operator==(const SetupSet&, const SetupSet&) = default;

  // Calls act(SetupId) for each member, lowest number first.
  template <class Act>
  constexpr void for_each(Act act) const {
    for (std::size_t i = 0; i < kWords; ++i) {
      for (std::uint64_t word = words_[i]; word != 0; word &= word - 1) {
        act(SetupId(i * 64 + static_cast<std::size_t>(std::countr_zero(word))));
      }
    }
  }

  [[nodiscard]] constexpr const std::array<std::uint64_t, 4>& words() const { return words_; }

 private:
  static constexpr std::size_t kWords = kMaxSetups / 64;
  std::array<std::uint64_t, kWords> words_{};
};

}  // namespace halfsplit::plan
