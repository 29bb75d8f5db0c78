// SPDX-License-Identifier: Apache-2.0
// A recording of a bus goes into the job: one entry, and what it says of the suspects.
#pragma once

#include "app/operation.h"
#include "app/recorded_bus.h"
#include "app/session.h"

namespace halfsplit::app {

// `minutes`: what it took; `brief`: without how the suspects stand now. Refused where nobody on that bus could be
// heard: errors saw.bus-asleep, saw.recording-empty.
[[nodiscard]] Reply saw_recorded(Context& context, Session& session, const RecordedBus& recorded, double minutes,
                                 bool brief);
// What would be entered; nothing is.
[[nodiscard]] Reply show_recorded(Session& session, const RecordedBus& recorded);
// Of those expected on that bus (recorded_from.h) who lives in the healthy vehicle in the state of the job.
[[nodiscard]] std::vector<circuit::ModuleId> awake_on(Session& session, circuit::BusId bus);

constexpr double kRecordingMinutes = 3.0;  // plugging in and two minutes of traffic (ours)

}  // namespace halfsplit::app
