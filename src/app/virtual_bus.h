// SPDX-License-Identifier: Apache-2.0
// What a tap on a bus of the virtual vehicle records: every module sends the drawing's messages at their periods,
// claims its address when it starts, tells its active codes; who is heard at the tap follows from the circuit, solved
// anew for each moment of what comes and goes. Invented traffic of a drawn vehicle, no more: contents are zero but for
// addresses, codes and supply volts. Same seed, same recording.
#pragma once

#include <cstdint>
#include <vector>

#include "app/virtual_vehicle.h"
#include "can/frame.h"

namespace halfsplit::app {

struct TapOptions {
  evidence::Observable tap;  // `bus`, `red`, `black`, `configuration`
  double seconds = 60.0;
  std::uint64_t seed = 1;
  std::int64_t start_us = 1'800'000'000'000'000;  // 2027-01-15
};

struct TappedBus {
  std::vector<can::Frame> frames;  // in order, lines counted from 1
  std::size_t spells = 0;          // times that what comes and goes was there
};

[[nodiscard]] TappedBus tap_bus(const VirtualVehicle& vehicle, const TapOptions& options,
                                const std::vector<fault::RepairId>& repaired);

}  // namespace halfsplit::app
