// SPDX-License-Identifier: Apache-2.0
// Meters as circuits; their figures are those of a profile (meters/meter_profile.h). Volts: a resistance between the
// probes. Ohms: a test current that gives the full-scale volts at the top of its range, out of the red probe; ranges
// tried upward; above the last: OL. Continuity: ohms below a threshold. Clamp: the current of a wire. Test lamp: a
// filament of system volts. Between islands volts read 0 and ohms OL; ohms on a circuit that is live between the probes
// tell nothing and show OL.
#pragma once

#include <cstdint>
#include <limits>

#include "electrical/model.h"
#include "electrical/operating_point.h"
#include "meters/meter_profile.h"

namespace halfsplit::electrical {

using meters::Instrument;
using meters::MeterProfile;
using meters::MeterRange;

// Where an instrument is put: between two nodes, or around a branch. The profile must outlive the probe.
struct Probe {
  Instrument instrument = Instrument::kVolts;
  NodeId red, black;
  std::size_t branch = 0;  // clamp
  const MeterProfile* meter = &meters::default_meter();
};

struct Measured {
  bool settled = true;      // false: the circuit found no rest or has no single solution
  bool over_range = false;  // OL
  double value = 0.0;       // V, ohm (with what the leads add), A; test lamp: its volts
  // OL: the ohms, when they only are too many; infinite where nothing joins the probes or they are live.
  double ohm_over_range = std::numeric_limits<double>::infinity();
};

// The branch a voltmeter or test lamp adds; `system_volts` sizes the lamp.
[[nodiscard]] Branch meter_branch(const Probe& probe, double system_volts);
// The branch an ohmmeter adds at a test current.
[[nodiscard]] Branch test_current_branch(const Probe& probe, double ampere);

// Reads by solving the circuit with the meter in it: the slow path. The circuit settles first without the meter, from
// power-up; then the meter is put in, and the states go on from where they stand.
[[nodiscard]] Measured measure(const Model& model, const Probe& probe, double system_volts);
// The same, the circuit without the meter being solved already.
[[nodiscard]] Measured measure(const Model& model, const OperatingPoint& stands, const Probe& probe,
                               double system_volts);

// How a filament looks at a share of its rated volts: 0 bright, 1 dim, 2 dark. Light goes with about the 3.4th power of
// volts (common lamp practice): dim below 0.85 of rated, dark below 0.3.
constexpr double kDimBelow = 0.85;
constexpr double kDarkBelow = 0.30;

}  // namespace halfsplit::electrical
