// SPDX-License-Identifier: Apache-2.0
// The whole way of a recording without a vehicle: a hidden fault, what a tap on its bus records, what is found in the
// recording, what goes into the job, what is then believed - and was it the fault that was hidden?
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/operation.h"
#include "app/recorded_from.h"
#include "app/virtual_bus.h"

namespace halfsplit::app {

// Two minutes at a tap (`bus`, points, configuration) of the vehicle, studied and turned into an entry.
[[nodiscard]] RecordedFrom record_virtual(const LoadedLoom& loom, const VirtualVehicle& vehicle,
                                          const evidence::Observable& tap, double seconds, std::uint64_t seed);
// The same of what was recorded already.
[[nodiscard]] RecordedFrom study_tapped(const LoadedLoom& loom, const TappedBus& tapped,
                                        const evidence::Observable& tap, const std::string& file);
// The drawn reader's bus of a loom, in the state at work; none: no reader is drawn.
[[nodiscard]] std::optional<evidence::Observable> reader_tap(const circuit::Loom& loom);
// Does it show anything that a recording of a healthy vehicle would not?
[[nodiscard]] bool shows_trouble(const RecordedBus& recorded);

struct RecordingOptions {
  std::vector<std::string> looms;
  std::size_t count = 100;  // vehicles of each loom whose recording shows trouble
  std::uint64_t seed = 1;
  meters::MeterProfile meter = {};
  bool play = false;  // each job to its end as well
};
[[nodiscard]] Reply measure_recordings(Context& context, const RecordingOptions& options);

}  // namespace halfsplit::app
