// SPDX-License-Identifier: Apache-2.0
// Volts at every seat, at rest and with each of them driving, and how long a line takes to come back.
#include <algorithm>
#include <cmath>
#include <utility>

#include "predict/bus.h"
#include "predict/bus_lines.h"

namespace halfsplit::predict {

namespace {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::BusReading;
using electrical::Ends;
using electrical::Transfers;

constexpr double kLeastPivot = 1.0e-9;  // of a line's own resistance: letting go of it would leave it floating

// The circuit at the lines' ends, with what a way of reading changes at them.
class Ports {
 public:
  Ports(Transfers transfers, std::size_t count)
      : n_(count), volts_(std::move(transfers.open)), ohm_(std::move(transfers.ohm)) {}

  [[nodiscard]] double volts(std::size_t at) const { return volts_[at]; }
  [[nodiscard]] double ohm(std::size_t at, std::size_t from) const { return ohm_[at * n_ + from]; }

  // Puts a resistance `ohm` between `at` and a rail of `volt`.
  void join(std::size_t at, double volt, double ohm) { put(at, volt, this->ohm(at, at) + ohm); }
  // Takes away the resistance `ohm` that lies across `at`.
  void take_away(std::size_t at, double ohm) {
    const double pivot = this->ohm(at, at) - ohm;
    if (std::abs(pivot) >= kLeastPivot * ohm) put(at, 0.0, pivot);
  }

 private:
  void put(std::size_t at, double volt, double pivot) {
    const double ampere = (volt - volts_[at]) / pivot;
    const std::vector<double> row(ohm_.begin() + static_cast<std::ptrdiff_t>(at * n_),
                                  ohm_.begin() + static_cast<std::ptrdiff_t>((at + 1) * n_));
    for (std::size_t q = 0; q < n_; ++q) {
      const double column = this->ohm(q, at);
      volts_[q] += column * ampere;
      const double factor = column / pivot;
      for (std::size_t p = 0; p < n_; ++p) ohm_[q * n_ + p] -= factor * row[p];
    }
  }

  std::size_t n_;
  std::vector<double> volts_, ohm_;
};

// What a driving seat puts into its lines: one line, or both at once.
std::pair<double, double> drive(const Ports& ports, const Lines& lines, std::size_t seat, const BusReading& reading) {
  const std::size_t h = lines.high(seat);
  const Line& high = lines.all[h];
  const double open_h = high.drive_v - ports.volts(h);
  const double own_h = high.drive_ohm + ports.ohm(h, h);
  if (lines.per_seat == 1) return {open_h / own_h, 0.0};
  const std::size_t l = lines.low(seat);
  const Line& low = lines.all[l];
  const double open_l = low.drive_v - ports.volts(l);
  const double own_l = low.drive_ohm + ports.ohm(l, l);
  if (!reading.drives_low) return {open_h / own_h, 0.0};
  if (!reading.drives_high) return {0.0, open_l / own_l};
  const double determinant = own_h * own_l - ports.ohm(h, l) * ports.ohm(l, h);
  return {(open_h * own_l - open_l * ports.ohm(h, l)) / determinant,
          (open_l * own_h - open_h * ports.ohm(l, h)) / determinant};
}

BusLevels levels_at(const Scene& scene, BusId bus, const Lines& lines, Ports ports, const BusReading& reading) {
  const bool two = lines.per_seat == 2;
  for (std::size_t i = 0; i < lines.rests.size(); ++i) {
    const bool lets_go = i % 2 == 0 ? !reading.rests_high : !reading.rests_low;
    if (lets_go) ports.take_away(lines.all.size() + lines.pull_ups.size() + i, lines.rests[i].ohm);
  }
  BusLevels levels;
  const std::size_t n = levels.seats = lines.seats;
  const auto low_volts = [&](std::size_t seat) { return two ? ports.volts(lines.low(seat)) : 0.0; };
  for (std::size_t r = 0; r < n; ++r) {
    levels.rest_high.push_back(ports.volts(lines.high(r)));
    levels.rest_low.push_back(low_volts(r));
  }
  for (std::size_t k = 0; k < lines.pull_ups.size(); ++k)
    ports.join(lines.all.size() + k, lines.pull_ups[k].volt, lines.pull_ups[k].ohm);
  const auto weighed = [&](std::size_t r, std::size_t k) {
    const std::size_t hr = lines.high(r);
    const std::size_t hk = lines.high(k);
    double sum = reading.high * reading.high * ports.ohm(hr, hk);
    if (!two) return sum;
    const std::size_t lr = lines.low(r);
    const std::size_t lk = lines.low(k);
    sum += reading.high * reading.low * (ports.ohm(hr, lk) + ports.ohm(lr, hk));
    return sum + reading.low * reading.low * ports.ohm(lr, lk);
  };
  const std::size_t drawn = scene.netlist.buses.at(bus.index()).seats.size();
  const double farad = farad_of(scene, bus);
  for (std::size_t r = 0; r < n; ++r) {
    double tau = 0.0;
    for (std::size_t k = 0; k < drawn; ++k) tau += weighed(r, k) * farad;
    levels.tau_s.push_back(std::max(0.0, tau));
  }
  levels.driven_high.resize(n * n);
  levels.driven_low.resize(n * n);
  for (std::size_t s = 0; s < n; ++s) {
    const auto [into_high, into_low] = drive(ports, lines, s, reading);
    levels.ampere_high.push_back(into_high);
    levels.ampere_low.push_back(into_low);
    const auto driven = [&](std::size_t at) {
      return ports.volts(at) + ports.ohm(at, lines.high(s)) * into_high +
             (two ? ports.ohm(at, lines.low(s)) * into_low : 0.0);
    };
    for (std::size_t r = 0; r < n; ++r) {
      levels.driven_high[s * n + r] = driven(lines.high(r));
      levels.driven_low[s * n + r] = two ? driven(lines.low(r)) : 0.0;
    }
    for (std::size_t k = 0; k < lines.pull_ups.size(); ++k)
      levels.ampere_pull_up.push_back((lines.pull_ups[k].volt - driven(lines.all.size() + k)) / lines.pull_ups[k].ohm);
  }
  return levels;
}

}  // namespace

BusLevels bus_levels(const Scene& scene, CircuitView& view, BusId bus, const BusReading& reading, const BusTap* tap) {
  const Lines lines = lines_of(scene, view, bus, tap);
  const std::vector<Ends> ends = ends_of(lines);
  return levels_at(scene, bus, lines, Ports(view.transfers(ends, ends), ends.size()), reading);
}

}  // namespace halfsplit::predict
