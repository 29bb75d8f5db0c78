// SPDX-License-Identifier: Apache-2.0
#include "predict/bus_memo.h"

#include <bit>
#include <cstdint>

namespace halfsplit::predict {

namespace {

constexpr std::size_t kMostFigures = 2000000;  // doubles: 16 MB

std::size_t figures_of(const BusPicture& picture) {
  return 32 + picture.arrives.size() + picture.arrives_with_reader.size() + picture.margin.size() +
         picture.levels.driven_high.size() + picture.levels.driven_low.size() + 8 * picture.seats;
}

}  // namespace

std::size_t BusMemo::Hash::operator()(const Key& key) const {
  std::uint64_t hash = key.bus.value;
  const auto mix = [&](std::uint64_t more) { hash = (hash ^ more) * 0x9E3779B97F4A7C15ULL + (hash >> 29); };
  for (const fault::Change& c : key.changes) {
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

std::shared_ptr<const BusPicture> BusMemo::find(const std::vector<fault::Change>& changes, circuit::BusId bus) const {
  const auto found = kept_.find({changes, bus});
  return found == kept_.end() ? nullptr : found->second;
}

void BusMemo::keep(const std::vector<fault::Change>& changes, circuit::BusId bus,
                   std::shared_ptr<const BusPicture> picture) {
  if (figures_ > kMostFigures) {
    kept_.clear();
    figures_ = 0;
  }
  figures_ += figures_of(*picture);
  kept_.emplace(Key{changes, bus}, std::move(picture));
}

}  // namespace halfsplit::predict
