// SPDX-License-Identifier: Apache-2.0
#include "predict/bus_memo.h"

#include "fault/change_hash.h"

namespace halfsplit::predict {

namespace {

constexpr std::size_t kMostFigures = 2000000;  // doubles: 16 MB

std::size_t figures_of(const BusPicture& picture) {
  return 32 + picture.arrives.size() + picture.arrives_with_reader.size() + picture.margin.size() +
         picture.levels.driven_high.size() + picture.levels.driven_low.size() + 8 * picture.seats;
}

}  // namespace

std::size_t BusMemo::Hash::operator()(const Key& key) const {
  return fault::ChangeHash()(key.changes) * 31U + key.bus.value;
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
