// SPDX-License-Identifier: Apache-2.0
#include "meters/meter_profile.h"

#include <algorithm>
#include <cmath>

namespace halfsplit::meters {

const MeterProfile& default_meter() {
  static const MeterProfile meter;
  return meter;
}

const std::vector<MeterRange>& ranges_of(const MeterProfile& meter, Instrument instrument) {
  static const std::vector<MeterRange> eye = {{0.0, 0.0, 0.0, 0.01}};
  switch (instrument) {
    case Instrument::kVolts:
      return meter.volts;
    case Instrument::kOhms:
      return meter.ohms;
    case Instrument::kClamp:
      return meter.clamp;
    case Instrument::kTestLamp:
      return eye;
  }
  return eye;
}

const MeterRange& range_of(const MeterProfile& meter, Instrument instrument, double reading) {
  const std::vector<MeterRange>& ranges = ranges_of(meter, instrument);
  const double size = std::abs(reading);
  const auto holds = [&](const MeterRange& range) { return size <= range.up_to; };
  const auto found = std::find_if(ranges.begin(), ranges.end(), holds);
  return found == ranges.end() ? ranges.back() : *found;
}

double meter_sigma(const MeterProfile& meter, Instrument instrument, double reading) {
  const MeterRange& range = range_of(meter, instrument, reading);
  return (std::abs(reading) * range.percent / 100.0 + range.counts * range.digit) / 3.0;
}

double displayed(const MeterProfile& meter, Instrument instrument, double reading) {
  const double digit = range_of(meter, instrument, reading).digit;
  return std::round(reading / digit) * digit;
}

double test_current(const MeterProfile& meter, const MeterRange& range) { return meter.full_scale_v / range.up_to; }

}  // namespace halfsplit::meters
