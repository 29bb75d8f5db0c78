// SPDX-License-Identifier: Apache-2.0
#include "predict/bus_heard.h"

#include <cmath>

#include "predict/bus.h"

namespace halfsplit::predict {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::BusReading;

Heard heard_of(const Scene& scene, BusId bus, const BusLevels& levels, const BusReading& reading) {
  const circuit::Bus& drawn = scene.loom.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(drawn.kind);
  const double scale = circuit::bus_volts(kind, 1.0, scene.loom.system_volts);
  const double threshold = reading.threshold * scale;
  const double sample_s = drawn.sample_percent / 100.0 / (drawn.bit_rate * 1000.0);
  const std::size_t n = levels.seats;
  Heard heard;
  heard.spread = reading.spread * scale;
  constexpr double kFar = 1.0e6;  // beyond the common mode: reads nothing of it, whatever the threshold
  const auto within = [&](double high, double low) {
    const double mean = kind.two_wires ? (high + low) / 2.0 : high;
    return mean >= kind.common_low_v && mean <= kind.common_high_v;
  };
  std::vector<double> rest(n);
  for (std::size_t r = 0; r < n; ++r) {
    rest[r] = read_level(reading, levels.rest_high[r], levels.rest_low[r]);
    const bool read = within(levels.rest_high[r], levels.rest_low[r]);
    heard.rests.push_back(read ? (threshold - rest[r]) / heard.spread : kFar);
  }
  for (std::size_t s = 0; s < n; ++s)
    for (std::size_t r = 0; r < n; ++r) {
      const double high = levels.driven_high[s * n + r];
      const double low = levels.driven_low[s * n + r];
      const double y = read_level(reading, high, low);
      const bool read = within(high, low) && within(levels.rest_high[r], levels.rest_low[r]);
      heard.dominant.push_back(read ? (y - threshold) / heard.spread : -kFar);
      const double left = levels.tau_s[r] > 0.0 ? std::exp(-sample_s / levels.tau_s[r]) : 0.0;
      const double later = rest[r] + (y - rest[r]) * left;
      heard.returns.push_back(read ? (threshold - later) / heard.spread : kFar);
    }
  return heard;
}

}  // namespace halfsplit::predict
