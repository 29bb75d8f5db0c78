// SPDX-License-Identifier: Apache-2.0
// What an observable shows on a given circuit: meters, codes by their monitors, live values through the module's own
// curve, the look of loads, a module's answer, what moving, warming and cooling provoke (docs/formats/loom.md, "Codes
// and live values"). Returns a prediction: the meter's spread and the circuit's tolerances as one normal, soft edges
// for what eyes judge.
#pragma once

#include <span>
#include <vector>

#include "evidence/observable.h"
#include "evidence/prediction.h"
#include "fault/fault.h"
#include "predict/circuit_view.h"

namespace halfsplit::predict {

struct Scene {
  const circuit::Loom& loom;
  const circuit::Netlist& netlist;
  const fault::Universe& universe;
  const meters::MeterProfile& meter = meters::default_meter();
};

// The circuit as it is now, and as it is when the vehicle is at work (for stored codes).
struct Views {
  CircuitView& now;
  CircuitView& in_use;
};

// `faults`: what is in the circuit, for what is provoked only. Where tolerances may have states stand otherwise
// (ways.h), the prediction is a mixture, what stands as it is first.
[[nodiscard]] std::vector<evidence::Prediction> observe_all(const Scene& scene, Views views,
                                                            std::span<const evidence::Observable* const> observables,
                                                            const std::vector<fault::FaultId>& faults);
[[nodiscard]] evidence::Prediction observe(const Scene& scene, Views views, const evidence::Observable& observable,
                                           const std::vector<fault::FaultId>& faults);

// Chance that a monitor's condition holds, its fitting aside.
[[nodiscard]] double condition_chance(const Scene& scene, CircuitView& view, const circuit::Code& code);
// The value a module shows for the volts at its pin; none: off the scale at neither end can be said.
[[nodiscard]] double live_value(const Scene& scene, const circuit::Live& live, double pin_volts);

[[nodiscard]] electrical::Probe probe_of(const Scene& scene, const evidence::Observable& observable);

}  // namespace halfsplit::predict
