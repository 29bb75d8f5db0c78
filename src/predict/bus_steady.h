// SPDX-License-Identifier: Apache-2.0
// Does a fault leave a bus as it is at rest, as far as who reads whom goes? Most faults of a vehicle move the levels of
// most of its buses by microvolts, and messages arrive or do not: what is known of the circuit at rest then serves.
// Internal to the room. Units: V, ohm.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <unordered_map>
#include <vector>

#include "electrical/transfers.h"
#include "predict/bus_picture.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// How far the circuit may move before anybody on the bus could read anything otherwise.
struct Steadiness {
  std::vector<electrical::Ends> ends;  // of its lines
  double margin_v = 0.0;               // least distance of any level from where it would be read otherwise
  double per_volt = 0.0;               // levels move by at most so many volts for one volt at all ends
  double per_ohm = 0.0;                // and so many for one ohm between any two of them
  double most_ohm = 0.0;               // up to which that holds
};

// Of one configuration without a fault.
struct BusesAtRest {
  struct One {
    std::shared_ptr<const BusPicture> picture;
    std::optional<Steadiness> steadiness;  // none: it has to be looked at anew with each fault
  };
  std::vector<One> buses;   // by BusId
  std::vector<char> alive;  // by ModuleId
  // What has been worked out of messages (bus_delivery.cpp), for all circuits that leave every bus as it is.
  std::unordered_map<std::uint64_t, std::vector<double>> deliveries;
};

[[nodiscard]] std::shared_ptr<BusesAtRest> look_at_rest(const Scene& scene, CircuitView& rest);

}  // namespace halfsplit::predict
