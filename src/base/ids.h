// SPDX-License-Identifier: Apache-2.0
// Ids are types, not integers: a NodeId cannot be handed where a PartId is asked for. An Id is an index into the
// vector of the thing it names; kNone says "no such thing".
#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <functional>

namespace halfsplit::base {

template <class Tag>
struct Id {
  std::uint32_t value = kNoneValue;
  static constexpr std::uint32_t kNoneValue = 0xFFFFFFFFU;

  constexpr Id() = default;
  constexpr explicit Id(std::size_t index) : value(static_cast<std::uint32_t>(index)) {}
  [[nodiscard]] constexpr std::size_t index() const { return value; }
  [[nodiscard]] constexpr bool is_none() const { return value == kNoneValue; }
  friend constexpr auto operator<=>(const Id&, const Id&) = default;
};

}  // namespace halfsplit::base

template <class Tag>
struct std::hash<halfsplit::base::Id<Tag>> {
  std::size_t operator()(const halfsplit::base::Id<Tag>& id) const noexcept { return id.value; }
};
