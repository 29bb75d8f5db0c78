// SPDX-License-Identifier: Apache-2.0
// Pictures of buses by what is wrong with the circuit: each new reading asks the same faults again. Internal to the
// room; forgets everything when it has grown too large.
#pragma once

#include <cstddef>
#include <memory>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fault/fault.h"
#include "predict/bus_picture.h"

namespace halfsplit::predict {

struct BusesAtRest;

class BusMemo {
 public:
  // Of the circuit without a fault; null: not looked at.
  std::shared_ptr<BusesAtRest> rest;

  [[nodiscard]] std::shared_ptr<const BusPicture> find(const std::vector<fault::Change>& changes,
                                                       circuit::BusId bus) const;
  void keep(const std::vector<fault::Change>& changes, circuit::BusId bus, std::shared_ptr<const BusPicture> picture);

 private:
  struct Key {
    std::vector<fault::Change> changes;
    circuit::BusId bus;
    friend bool operator==(const Key&, const Key&) = default;
  };
  struct Hash {
    std::size_t operator()(const Key& key) const;
  };
  std::unordered_map<Key, std::shared_ptr<const BusPicture>, Hash> kept_;
  std::size_t figures_ = 0;
};

}  // namespace halfsplit::predict
