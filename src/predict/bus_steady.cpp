// SPDX-License-Identifier: Apache-2.0
// Bounds, not figures: a level at a receiver is what its end shows at rest and, driven, what the sender's current makes
// of it. With open volts off by a and resistances off by r, the driving current (a two by two system) is off by at most
// 1.2 g (a + 2 r I), g its inverse's largest row sum, as long as 2 r g stays below a tenth.
#include "predict/bus_steady.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "predict/bus.h"
#include "predict/bus_heard.h"
#include "predict/bus_lines.h"

namespace halfsplit::predict {

namespace {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::BusReading;

constexpr double kOff = 1.2;          // 1 / (1 - 2 r g), generously
constexpr double kMostOff = 0.1;      // of 2 r g
constexpr double kSteepest = 0.4;     // of exp(-t / tau) for a relative change of tau: at most 1 / e
constexpr double kFarSigmas = 1.0e5;  // beyond the common mode: no level at all

// The least distance, in volts, of any level from a threshold, at any of the five places of it.
double least_distance(const Heard& heard) {
  double least = 1.0e300;
  for (const Shift& shift : kShifts) {
    const auto look = [&](double sigmas) {
      if (std::abs(sigmas) > kFarSigmas) least = 0.0;
      least = std::min(least, std::abs(sigmas - kLeastSigmas) * heard.spread);
    };
    for (const double r : heard.rests) look(r + shift.sigmas);
    for (const double d : heard.dominant) look(d - shift.sigmas);
    for (const double r : heard.returns) look(r + shift.sigmas);
  }
  return least;
}

// And from the ends of the common mode.
double least_to_common_mode(const BusKindRecord& kind, const BusLevels& levels) {
  double least = 1.0e300;
  const auto look = [&](double high, double low) {
    const double mean = kind.two_wires ? (high + low) / 2.0 : high;
    least = std::min({least, std::abs(mean - kind.common_low_v), std::abs(kind.common_high_v - mean)});
  };
  for (std::size_t r = 0; r < levels.seats; ++r) look(levels.rest_high[r], levels.rest_low[r]);
  for (std::size_t i = 0; i < levels.driven_high.size(); ++i) look(levels.driven_high[i], levels.driven_low[i]);
  return least;
}

bool one_way_reads_all(const Heard& heard) {
  const auto good = [](double sigmas) { return sigmas > kLeastSigmas; };
  return std::all_of(heard.rests.begin(), heard.rests.end(), good) &&
         std::all_of(heard.dominant.begin(), heard.dominant.end(), good) &&
         std::all_of(heard.returns.begin(), heard.returns.end(), good);
}

double largest(const std::vector<double>& values) {
  double most = 0.0;
  for (const double value : values) most = std::max(most, std::abs(value));
  return most;
}

// The largest row sum of a driving system's inverse, of all seats: A for one volt.
double most_driven(const Lines& lines, const electrical::Transfers& transfers) {
  const std::size_t n = lines.all.size();
  double most = 0.0;
  for (std::size_t s = 0; s < lines.seats; ++s) {
    const std::size_t h = lines.high(s);
    const double own_h = lines.all[h].drive_ohm + transfers.ohm[h * n + h];
    if (lines.per_seat == 1) {
      most = std::max(most, 1.0 / std::abs(own_h));
      continue;
    }
    const std::size_t l = lines.low(s);
    const double own_l = lines.all[l].drive_ohm + transfers.ohm[l * n + l];
    const double across = transfers.ohm[h * n + l];
    const double back = transfers.ohm[l * n + h];
    const double determinant = std::abs(own_h * own_l - across * back);
    const double row = std::max(std::abs(own_h) + std::abs(back), std::abs(own_l) + std::abs(across));
    most = std::max(most, row / determinant);
  }
  return most;
}

std::optional<Steadiness> steadiness_of(const Scene& scene, CircuitView& rest, BusId bus) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(wiring.kind);
  const BusReading& reading = kind.readings.front();
  if (wiring.seats.empty() || !reading.rests_high || !reading.rests_low) return std::nullopt;
  const Lines lines = lines_of(scene, rest, bus);
  if (!lines.pull_ups.empty()) return std::nullopt;
  const BusLevels levels = bus_levels(scene, rest, bus, reading);
  const Heard heard = heard_of(scene, bus, levels, reading);
  if (!one_way_reads_all(heard)) return std::nullopt;
  Steadiness steady;
  for (const Line& line : lines.all) steady.ends.push_back(line.ends);
  const electrical::Transfers transfers = rest.transfers(steady.ends, steady.ends);
  const double ohm = largest(transfers.ohm);
  const double ampere = std::max(largest(levels.ampere_high), largest(levels.ampere_low));
  const double g = most_driven(lines, transfers);
  const double tau = *std::min_element(levels.tau_s.begin(), levels.tau_s.end());
  if (!(tau > 0.0) || !std::isfinite(g)) return std::nullopt;
  const double swing = std::abs(kind.high.drive_v) + std::abs(kind.low.drive_v) + scene.loom.system_volts;
  // Of one line, then of both together.
  const double lines_read = lines.per_seat == 2 ? 2.0 : 1.0;
  const double current_per_volt = kOff * g;
  const double current_per_ohm = 2.0 * kOff * g * ampere;
  steady.per_volt = lines_read * (1.0 + lines_read * ohm * current_per_volt);
  const double tau_per_ohm = static_cast<double>(wiring.seats.size()) * lines_read * lines_read * farad_of(scene, bus);
  steady.per_ohm =
      lines_read * lines_read * (ohm * current_per_ohm + kOff * ampere) + swing * kSteepest * kOff * tau_per_ohm / tau;
  // What is read is a level, or a level less what it was at rest.
  steady.per_volt *= 2.0;
  steady.per_ohm *= 2.0;
  steady.most_ohm = kMostOff / (2.0 * g);
  steady.margin_v = std::min(least_distance(heard), least_to_common_mode(kind, levels));
  return steady;
}

}  // namespace

std::shared_ptr<BusesAtRest> look_at_rest(const Scene& scene, CircuitView& rest) {
  auto made = std::make_shared<BusesAtRest>();
  for (std::size_t m = 0; m < scene.loom.modules.size(); ++m)
    made->alive.push_back(rest.alive(circuit::ModuleId(m)) ? 1 : 0);
  for (std::size_t b = 0; b < scene.netlist.buses.size(); ++b) {
    const BusId bus(b);
    const bool all_live = std::all_of(scene.netlist.buses[b].seats.begin(), scene.netlist.buses[b].seats.end(),
                                      [&](std::size_t s) { return rest.alive(scene.netlist.transceivers[s].module); });
    made->buses.push_back({bus_picture(scene, rest, bus), all_live ? steadiness_of(scene, rest, bus) : std::nullopt});
  }
  return made;
}

}  // namespace halfsplit::predict
