// SPDX-License-Identifier: Apache-2.0
#include "electrical/meter.h"

#include <algorithm>
#include <cmath>

#include "electrical/operating_point.h"

namespace halfsplit::electrical {

namespace {

Measured read_ohms(const Model& model, const Probe& probe) {
  const OperatingPoint rest = solve_operating_point(model);
  if (rest.status != Status::kSettled) return {false, false, 0.0};
  if (!rest.islands.together(probe.red, probe.black)) return {true, true, 0.0};
  if (std::abs(rest.volts(probe.red) - rest.volts(probe.black)) > kLiveVolt) return {true, true, 0.0};
  for (double range = kLowestOhmsRange; range <= kHighestOhmsRange; range *= 10.0) {
    Model with = model;
    const double ampere = kOhmsFullScaleVolt / range;
    with.branches.push_back(test_current_branch(probe, ampere));
    const OperatingPoint point = solve_operating_point(with);
    if (point.status != Status::kSettled) return {false, false, 0.0};
    const double ohm = (point.volts(probe.red) - point.volts(probe.black)) / ampere;
    if (ohm <= range) return {true, false, ohm};
  }
  return {true, true, 0.0};
}

}  // namespace

Branch meter_branch(const Probe& probe, double system_volts) {
  Branch b;
  b.a = probe.red;
  b.b = probe.black;
  if (probe.instrument == Instrument::kTestLamp) {
    b.kind = circuit::ElementKind::kLamp;
    b.volt = system_volts;
    b.ohm = system_volts * system_volts / kTestLampWatt;
  } else {
    b.ohm = kVoltmeterOhm;
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

Accuracy accuracy_of(Instrument instrument, double value) {
  const double size = std::abs(value);
  switch (instrument) {
    case Instrument::kVolts: {
      if (size < 0.6) return {0.5, 3.0, 0.0001};
      if (size < 6.0) return {0.5, 2.0, 0.001};
      return {0.5, 2.0, size < 60.0 ? 0.01 : 0.1};
    }
    case Instrument::kOhms: {
      double digit = 0.1;
      for (double range = kLowestOhmsRange; size > range && range < kHighestOhmsRange; range *= 10.0) digit *= 10.0;
      return {size > 6.0e6 ? 2.0 : 0.9, 3.0, digit};
    }
    case Instrument::kClamp:
      return {2.0, 5.0, 0.01};
    case Instrument::kTestLamp:
      return {0.0, 0.0, 0.01};
  }
  return {};
}

double meter_sigma(Instrument instrument, double value) {
  const Accuracy a = accuracy_of(instrument, value);
  return (std::abs(value) * a.percent / 100.0 + a.counts * a.digit) / 3.0;
}

double displayed(Instrument instrument, double value) {
  const double digit = accuracy_of(instrument, value).digit;
  return std::round(value / digit) * digit;
}

}  // namespace halfsplit::electrical
