// SPDX-License-Identifier: Apache-2.0
// The meter in the technician's hand as values: what it puts into the circuit, its ranges, and how far each range may
// be off. Accuracy is written as data sheets write it: percent of the reading plus counts of the last digit, taken as
// three sigma. Units: V, ohm, A, W. What a meter reads in a circuit is worked out in electrical/meter.h; the file
// format is docs/formats/meter.md. A meter nobody described is a common handheld of 6,000 counts (common practice; 10
// Mohm: Kuphaldt, "Lessons in Electric Circuits", vol. I, metering).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace halfsplit::meters {

enum class Instrument : std::uint8_t { kVolts, kOhms, kClamp, kTestLamp };

struct MeterRange {
  double up_to = 0.0;    // the largest reading it shows, without its sign
  double percent = 0.0;  // of the reading
  double counts = 0.0;   // of `digit`
  double digit = 0.0;    // one step of the last digit
  friend bool operator==(const MeterRange&, const MeterRange&) = default;
};

// Ranges stand from low to high; each list holds at least one.
struct MeterProfile {
  std::string name = "common handheld, 6,000 counts";
  std::string note;

  double input_ohm = 1.0e7;  // between the probes on volts, in every range
  std::vector<MeterRange> volts = {
      {0.6, 0.5, 3.0, 0.0001}, {6.0, 0.5, 2.0, 0.001}, {60.0, 0.5, 2.0, 0.01}, {600.0, 0.5, 2.0, 0.1}};

  double full_scale_v = 0.6;           // across the probes at the top of each ohms range: gives its test current
  double live_v = 0.05;                // more than this between the probes already: no ohms can be read
  double lead_ohm = 0.0;               // leads not taken off the reading; it adds to every one
  double lead_spread_ohm = 0.3;        // three sigma: leads, and how the probes sit
  double continuity_ohm = 30.0;        // beeps below
  double continuity_spread_ohm = 9.0;  // three sigma
  std::vector<MeterRange> ohms = {{600.0, 0.9, 3.0, 0.1},   {6.0e3, 0.9, 3.0, 1.0},   {6.0e4, 0.9, 3.0, 10.0},
                                  {6.0e5, 0.9, 3.0, 100.0}, {6.0e6, 0.9, 3.0, 1.0e3}, {6.0e7, 2.0, 3.0, 1.0e4}};

  std::vector<MeterRange> clamp = {{600.0, 2.0, 5.0, 0.01}};

  double lamp_watt = 5.0;  // the test lamp, at the vehicle's system volts

  friend bool operator==(const MeterProfile&, const MeterProfile&) = default;
};

// Most of what is said stays the same: one that is nobody's, for whoever has no other. Lives as long as the program.
[[nodiscard]] const MeterProfile& default_meter();

[[nodiscard]] const std::vector<MeterRange>& ranges_of(const MeterProfile& meter, Instrument instrument);
// The lowest range that can show the reading; beyond all of them the highest. A test lamp has one range without
// spread.
[[nodiscard]] const MeterRange& range_of(const MeterProfile& meter, Instrument instrument, double reading);
// The meter's own spread at a reading, one sigma.
[[nodiscard]] double meter_sigma(const MeterProfile& meter, Instrument instrument, double reading);
// As the display shows it: rounded to the digit of its range.
[[nodiscard]] double displayed(const MeterProfile& meter, Instrument instrument, double reading);
// The test current of an ohms range, A.
[[nodiscard]] double test_current(const MeterProfile& meter, const MeterRange& range);

}  // namespace halfsplit::meters
