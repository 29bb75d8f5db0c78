// SPDX-License-Identifier: Apache-2.0
#include "electrical/meter.h"

#include <cmath>

namespace halfsplit::electrical {

namespace {

// The circuit as it stands, with one branch more.
OperatingPoint go_on(const Model& model, const OperatingPoint& stands, const Branch& meter) {
  Model with = model;
  with.branches.push_back(meter);
  return solve_operating_point(with, fitted_to(with, stands.states));
}

Measured read_ohms(const Model& model, const OperatingPoint& rest, const Probe& probe) {
  if (!rest.islands.together(probe.red, probe.black)) return {true, true, 0.0};
  if (std::abs(rest.volts(probe.red) - rest.volts(probe.black)) > probe.meter->live_v) return {true, true, 0.0};
  double ohm = 0.0;
  for (const MeterRange& range : probe.meter->ohms) {
    const double ampere = meters::test_current(*probe.meter, range);
    const OperatingPoint point = go_on(model, rest, test_current_branch(probe, ampere));
    if (point.status != Status::kSettled) return {false, false, 0.0};
    ohm = (point.volts(probe.red) - point.volts(probe.black)) / ampere + probe.meter->lead_ohm;
    if (ohm <= range.up_to) return {true, false, ohm};
  }
  return {true, true, 0.0, ohm};
}

}  // namespace

Branch meter_branch(const Probe& probe, double system_volts) {
  Branch b;
  b.a = probe.red;
  b.b = probe.black;
  if (probe.instrument == Instrument::kTestLamp) {
    b.kind = circuit::ElementKind::kLamp;
    b.volt = system_volts;
    b.ohm = system_volts * system_volts / probe.meter->lamp_watt;
  } else {
    b.ohm = probe.meter->input_ohm;
  }
  return b;
}

Branch test_current_branch(const Probe& probe, double ampere) {
  Branch b;
  b.a = probe.black;  // through the meter from black to red
  b.b = probe.red;
  b.source = true;
  b.inject_a = ampere;
  return b;
}

Measured measure(const Model& model, const Probe& probe, double system_volts) {
  return measure(model, solve_operating_point(model), probe, system_volts);
}

Measured measure(const Model& model, const OperatingPoint& stands, const Probe& probe, double system_volts) {
  if (stands.status != Status::kSettled) return {false, false, 0.0};  // there may be no numbers at all
  if (probe.instrument == Instrument::kOhms) return read_ohms(model, stands, probe);
  if (probe.instrument == Instrument::kClamp) return {true, false, stands.amperes(probe.branch)};
  if (probe.red == probe.black) return {true, false, 0.0};
  const OperatingPoint point = go_on(model, stands, meter_branch(probe, system_volts));
  if (point.status != Status::kSettled) return {false, false, 0.0};
  return {true, false, point.volts(probe.red) - point.volts(probe.black)};
}

}  // namespace halfsplit::electrical
