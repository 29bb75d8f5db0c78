// SPDX-License-Identifier: Apache-2.0
// Small buses with one class of fault each, as who reads whom; and random ones.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/rng.h"
#include "can/traffic.h"

namespace halfsplit::bus_twin {

// Everybody takes part, rests, and follows everybody.
[[nodiscard]] can::Hearing healthy(std::size_t nodes);

struct FaultClass {
  std::string name;
  can::Hearing (*make)(base::Rng&);  // three to six nodes; which node is hit is drawn
  // Sure: on every such bus the rules must agree with the twin on every pair.
  enum class Kind : std::uint8_t { kSure, kComesAndGoes, kRandom } kind = Kind::kSure;
};
[[nodiscard]] const std::vector<FaultClass>& fault_classes();

}  // namespace halfsplit::bus_twin
