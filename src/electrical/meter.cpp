// SPDX-License-Identifier: Apache-2.0
#include "electrical/meter.h"

#include <cmath>

#include "electrical/operating_point.h"

namespace halfsplit::electrical {

namespace {

Measured read_ohms(const Model& model, const Probe& probe) {
  const OperatingPoint rest = solve_operating_point(model);
  if (rest.status != Status::kSettled) return {false, false, 0.0};
  if (!rest.islands.together(probe.red, probe.black)) return {true, true, 0.0};
  if (std::abs(rest.volts(probe.red) - rest.volts(probe.black)) > probe.meter->live_v) return {true, true, 0.0};
  double ohm = 0.0;
  for (const MeterRange& range : probe.meter->ohms) {
    Model with = model;
    const double ampere = meters::test_current(*probe.meter, range);
    with.branches.push_back(test_current_branch(probe, ampere));
    const OperatingPoint point = solve_operating_point(with);
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
  if (probe.instrument == Instrument::kOhms) return read_ohms(model, probe);
  if (probe.instrument == Instrument::kClamp) {
    const OperatingPoint point = solve_operating_point(model);
    if (point.status != Status::kSettled) return {false, false, 0.0};  // there may be no numbers at all
    return {true, false, point.amperes(probe.branch)};
  }
  if (probe.red == probe.black) return {true, false, 0.0};
  Model with = model;
  with.branches.push_back(meter_branch(probe, system_volts));
  const OperatingPoint point = solve_operating_point(with);
  if (point.status != Status::kSettled) return {false, false, 0.0};
  return {true, false, point.volts(probe.red) - point.volts(probe.black)};
}

}  // namespace halfsplit::electrical
