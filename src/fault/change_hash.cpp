// SPDX-License-Identifier: Apache-2.0
#include "fault/change_hash.h"

#include <bit>
#include <cstdint>

namespace halfsplit::fault {

std::size_t ChangeHash::operator()(const std::vector<Change>& changes) const {
  std::uint64_t hash = changes.size();
  const auto mix = [&](std::uint64_t more) { hash = (hash ^ more) * 0x9E3779B97F4A7C15ULL + (hash >> 29); };
  for (const Change& c : changes) {
    mix(static_cast<std::uint64_t>(c.kind));
    mix(c.element.value);
    mix(c.a.value);
    mix(c.b.value);
    mix(c.module.value);
    mix(std::bit_cast<std::uint64_t>(c.value));
    mix(std::bit_cast<std::uint64_t>(c.volt));
  }
  return static_cast<std::size_t>(hash);
}

}  // namespace halfsplit::fault
