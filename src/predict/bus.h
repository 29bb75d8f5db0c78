// SPDX-License-Identifier: Apache-2.0
// Who reads whom on a bus in one circuit, and what becomes of the messages (docs/formats/buses.md). The circuit gives
// volts at rest and how it answers currents; transmitters, receivers and their thresholds are put on top here; the
// protocol's rules are can/traffic.h. Units: V, A, s.
#pragma once

#include <memory>
#include <span>

#include "circuit/bus_kinds.h"
#include "predict/bus_picture.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// Of a case.
[[nodiscard]] BusFlags bus_flags(std::span<const fault::Change> changes);

// In one way of reading (BusReading).
[[nodiscard]] BusLevels bus_levels(const Scene& scene, CircuitView& view, circuit::BusId bus,
                                   const circuit::BusReading& reading, const BusTap* tap = nullptr);
// y of the page, "Who reads whom".
[[nodiscard]] inline double read_level(const circuit::BusReading& reading, double high, double low) {
  return reading.high * high + reading.low * low;
}

// Worked out once for each circuit (the view keeps it). `tap`: the reader sits there.
[[nodiscard]] std::shared_ptr<const BusPicture> bus_picture(const Scene& scene, CircuitView& view, circuit::BusId bus,
                                                            const BusTap* tap = nullptr);

// Share of the messages from one module that arrive at another, over buses and gateways; 1 where one of them has no
// seat on any bus, 0 where one does not live. `bus`: sent on this one only.
[[nodiscard]] double arrival(const Scene& scene, CircuitView& view, circuit::ModuleId from, circuit::ModuleId to,
                             circuit::BusId bus = {});
// Question and answer between the code reader and a module.
[[nodiscard]] double reader_reaches(const Scene& scene, CircuitView& view, circuit::ModuleId module);

// Share of the messages from one module that arrive at a tap on a bus, over buses and gateways; 0 where it does not
// live. The tap takes part as a code reader does: it acknowledges.
[[nodiscard]] double heard_at(const Scene& scene, CircuitView& view, circuit::ModuleId from, const BusTap& tap);

// What the modules' talking does to the volts between two nodes.
struct Talking {
  double mean = 0.0;                   // shift of the mean
  double highest = 0.0, lowest = 0.0;  // shift at most and at least, 0 included
};
// All 0 where metal joins neither node to a bus line.
[[nodiscard]] Talking talking(const Scene& scene, CircuitView& view, circuit::NodeId red, circuit::NodeId black);

}  // namespace halfsplit::predict
