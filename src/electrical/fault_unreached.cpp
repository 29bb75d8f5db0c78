// SPDX-License-Identifier: Apache-2.0
// Most faults of a vehicle do not reach most readings. What a meter shows without a fault is kept; with a fault in,
// where the probes see the same source behind the same resistance and what the meter moved is where it was, it shows
// the same, its spread included.
#include <algorithm>
#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

// A thousandth of a meter's digit, and what a sum of extended precision may be off.
constexpr double kSameVolts = 1.0e-7;  // V, and of the volts
constexpr double kSameOhms = 1.0e-6;   // ohm, and of the ohms
constexpr double kSameState = 1.0e-8;  // V or A, of what a state hangs on
constexpr double kNoReach = 1.0e-6;    // of an update's volts, or of its amperes in ohms

std::uint64_t pair_of(NodeId a, NodeId b) { return static_cast<std::uint64_t>(a.value) << 32U | b.value; }

bool same(double a, double b, double slack) { return std::abs(a - b) <= slack * (1.0 + std::abs(b)); }

}  // namespace

// Of the reading that has just settled, its meter still in.
void FaultBench::note_moved_by_meter(const States& before) {
  if (!changes_.empty()) return;
  for (const circuit::ModuleId m : near_.modules)
    meter_moved_ = meter_moved_ || states_.alive[m.index()] != before.alive[m.index()];
  for (const std::size_t i : noted_branches_)
    meter_moved_ = meter_moved_ || states_.on[i] != before.on[i] || states_.tripped[i] != before.tripped[i];
}

// Where the meter moves more than filaments, what it then sees hangs on more than on what it saw before. A filament
// that a fault moves has another tangent, which the probes see, or stands where it did to less than a meter shows.
void FaultBench::keep_at_rest(const Thevenin& into, const Probe& probe, const Tolerances& tolerance,
                              const Predicted& predicted) {
  if (!changes_.empty() || tolerance.empty() || meter_moved_ || !predicted.measured.settled) return;
  list_elements(tolerance);
  if (!(at_rest_meter_ == *probe.meter)) {
    for (auto& readings : at_rest_) readings.clear();
    at_rest_meter_ = *probe.meter;
  }
  at_rest_[static_cast<std::size_t>(probe.instrument)].insert_or_assign(pair_of(probe.red, probe.black),
                                                                        AtRest{predicted, into.open_volts, into.ohm});
}

// Does what each update does arrive at what is asked? `reach`: by update.
bool FaultBench::unreached(const std::vector<long double>& reach) const {
  double moved = 0.0;
  for (std::size_t j = 0; j < reach.size(); ++j) {
    const double each = std::abs(static_cast<double>(reach[j]));
    if (!(each <= kNoReach)) return false;
    moved += each * std::abs(coefficients_[j]);
  }
  return moved <= kSameVolts;
}

const Predicted* FaultBench::as_at_rest(const Thevenin& into, const Probe& probe, const Tolerances& tolerance) {
  if (tolerance.empty() || !tolerance.same_as(tolerance_)) return nullptr;
  const auto& readings = at_rest_[static_cast<std::size_t>(probe.instrument)];
  const auto found = readings.find(pair_of(probe.red, probe.black));
  if (found == readings.end() || !(at_rest_meter_ == *probe.meter)) return nullptr;
  const AtRest& rest = found->second;
  if (changes_.empty()) return &rest.predicted;
  if (!same(into.open_volts, rest.open_volts, kSameVolts) || !same(into.ohm, rest.ohm, kSameOhms)) return nullptr;
  const auto near_stands = [&](std::uint32_t w) {
    return watch_noted_[w] == 0 || std::abs(rest_.watches().shift(w, sum_)) <= kSameState;
  };
  if (!std::all_of(into.port->near.begin(), into.port->near.end(), near_stands)) return nullptr;
  ++counts_.as_at_rest;
  return &rest.predicted;
}

}  // namespace halfsplit::electrical
