// SPDX-License-Identifier: Apache-2.0
// Meters as circuits. Volts: 10 Mohm between the probes. Ohms: a test current that gives 0.6 V at the top of its range,
// out of the red probe; ranges 600 ohm to 60 Mohm tried upward; above: OL. Continuity: ohms below 30. Clamp: the
// current of a wire. Test lamp: a 5 W filament of system volts. Between islands volts read 0 and ohms OL; ohms on a
// circuit that is live between the probes (above 50 mV) tell nothing and show OL.
// Accuracy is percent of reading plus counts of the last digit, by range.
#pragma once

#include <cstdint>

#include "electrical/model.h"

namespace halfsplit::electrical {

constexpr double kVoltmeterOhm = 1.0e7;
constexpr double kOhmsFullScaleVolt = 0.6;
constexpr double kLowestOhmsRange = 600.0;
constexpr double kHighestOhmsRange = 6.0e7;
constexpr double kContinuityOhm = 30.0;
constexpr double kTestLampWatt = 5.0;
constexpr double kLiveVolt = 0.05;  // between the probes; ohms are refused above this

enum class Instrument : std::uint8_t { kVolts, kOhms, kClamp, kTestLamp };

// Where an instrument is put: between two nodes, or around a branch.
struct Probe {
  Instrument instrument = Instrument::kVolts;
  NodeId red, black;
  std::size_t branch = 0;  // clamp
};

struct Measured {
  bool settled = true;      // false: the circuit found no rest or has no single solution
  bool over_range = false;  // OL
  double value = 0.0;       // V, ohm, A; test lamp: its volts
};

// The branch a voltmeter or test lamp adds; `system_volts` sizes the lamp.
[[nodiscard]] Branch meter_branch(const Probe& probe, double system_volts);
// The branch an ohmmeter adds at a test current.
[[nodiscard]] Branch test_current_branch(const Probe& probe, double ampere);

// Reads by solving the circuit with the meter in it: the slow path.
[[nodiscard]] Measured measure(const Model& model, const Probe& probe, double system_volts);

struct Accuracy {
  double percent = 0.5;  // of reading
  double counts = 2.0;   // of `digit`
  double digit = 0.01;
};
// The meter's own spread at a reading: three sigma. A common handheld, 6,000 counts (common practice).
[[nodiscard]] Accuracy accuracy_of(Instrument instrument, double value);
[[nodiscard]] double meter_sigma(Instrument instrument, double value);
// As the display shows it: rounded to the digit of its range.
[[nodiscard]] double displayed(Instrument instrument, double value);

// How a filament looks at a share of its rated volts: 0 bright, 1 dim, 2 dark. Light goes with about the 3.4th power of
// volts (common lamp practice): dim below 0.85 of rated, dark below 0.3.
constexpr double kDimBelow = 0.85;
constexpr double kDarkBelow = 0.30;

}  // namespace halfsplit::electrical
