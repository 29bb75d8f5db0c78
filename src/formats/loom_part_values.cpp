// SPDX-License-Identifier: Apache-2.0
// Worked-out values, all common practice: a fuse drops about 0.1 V at its rating; a relay pulls in at 0.67 and drops
// out at 0.2 of system volts; a battery at rest stands at 1.05 and an alternator regulates at 1.18 of system volts.
#include "formats/loom_part_values.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "base/number.h"
#include "circuit/part_kinds.h"

namespace halfsplit::formats {

namespace {

using circuit::Part;
using circuit::PartKind;
using Kind = TomlValue::Kind;

constexpr double kFuseVolts = 0.1;
constexpr double kPullInShare = 0.67;
constexpr double kDropOutShare = 0.2;
constexpr double kBatteryShare = 1.05;
constexpr double kAlternatorShare = 1.18;
constexpr std::size_t kMostCurvePoints = 1000;
constexpr double kMostCurveX = 1.0e6;
constexpr double kMostCurveY = 1.0e9;
constexpr double kColdest = -100.0, kHottest = 400.0;  // degC, for the beta formula

double& value_of(Part& part, std::string_view field) { return part.values.at(circuit::field_index(part.kind, field)); }

std::string curve_hint(const Part& part) {
  return part.kind == PartKind::kThreeWireSensor ? "write [[0, 0.1], [10, 0.9]]: value, share of the supply"
                                                 : "write [[0, 10], [100, 180]]: value, ohm";
}

// A number, or text with a unit where y is in ohm.
std::optional<double> curve_number(const TomlValue& value, base::Unit unit) {
  if (value.kind == Kind::kWhole || value.kind == Kind::kNumber) return value.number;
  if (value.kind != Kind::kText || unit == base::Unit::kNone) return std::nullopt;
  const Parsed<double> parsed = parse_number(value.text, unit);
  return std::holds_alternative<double>(parsed) ? std::optional(std::get<double>(parsed)) : std::nullopt;
}

// One [x, y]; the error is reported.
std::optional<std::pair<double, double>> read_curve_point(TableReader& reader, const TomlValue& item,
                                                          const Part& part) {
  const auto refuse = [&](std::string message) {
    reader.report().error("bad-curve", item.at, 1, std::move(message), curve_hint(part));
    return std::nullopt;
  };
  const bool share = part.kind == PartKind::kThreeWireSensor;
  const bool two = item.kind == Kind::kList && item.items.size() == 2;
  const std::optional<double> x = two ? curve_number(item.items[0], base::Unit::kNone) : std::nullopt;
  const std::optional<double> y =
      two ? curve_number(item.items[1], share ? base::Unit::kNone : base::Unit::kOhm) : std::nullopt;
  if (!x || !y) return refuse("a point of the curve of " + reader.who() + " is a list of two numbers");
  const double most_y = share ? 1.0 : kMostCurveY;
  if (!std::isfinite(*x) || std::abs(*x) > kMostCurveX) return refuse("x of a curve lies between -1e6 and 1e6");
  if (!std::isfinite(*y) || *y < 0.0 || *y > most_y)
    return refuse(share ? "y of this curve is a share of the supply, between 0 and 1"
                        : "y of this curve is in ohm, between 0 and 1e9");
  return std::pair(*x, *y);
}

void read_curve(TableReader& reader, Part& part) {
  const TomlValue* value = reader.find("curve");
  if (value == nullptr) return;
  if (value->kind != Kind::kList || value->items.size() < 2 || value->items.size() > kMostCurvePoints)
    return reader.error("bad-curve", "curve", "`curve` of " + reader.who() + " is a list of 2 to 1,000 points",
                        curve_hint(part));
  for (const TomlValue& item : value->items) {
    const std::optional<std::pair<double, double>> point = read_curve_point(reader, item, part);
    if (!point) return;
    if (!part.curve.points.empty() && point->first <= part.curve.points.back().first)
      return reader.report().error("bad-curve", item.at, 1, "x of the curve of " + reader.who() + " does not rise here",
                                   "put the points in order, each x once");
    part.curve.points.push_back(*point);
  }
}

// A value that follows from others must still be one a circuit can have.
void check_worked_out(TableReader& reader, std::string_view key, double ohm, double low, double high) {
  if (ohm >= low && ohm <= high) return;
  reader.error("out-of-range", key, reader.who() + " works out to " + base::format_significant(ohm, 3) + " ohm",
               "it lies between " + base::format_number(low) + " and " + base::format_number(high) +
                   " ohm; look for a slip in the numbers");
}

// A load is told by its ohms, or by its watts at its volts.
void work_out_load(TableReader& reader, double system_volts, Part& part) {
  double& volt = value_of(part, "volt");
  double& watt = value_of(part, "watt");
  double& ohm = value_of(part, "ohm");
  if (volt == 0.0) volt = system_volts;
  if (reader.has("ohm") && reader.has("watt"))
    return reader.error("two-ways", "watt", reader.who() + " has both ohm and watt", "give one of the two");
  if (!reader.has("ohm") && watt == 0.0)
    return reader.report().error_unless_damaged("missing-value", reader.at("watt"), 1,
                                                reader.who() + " has neither ohm nor watt",
                                                "write its ohm, or its watt (and volt)");
  if (watt > 0.0) {
    ohm = volt * volt / watt;
    check_worked_out(reader, "watt", ohm, 1.0e-3, kMostCurveY);
  } else if (ohm > 0.0) {
    watt = volt * volt / ohm;
  }
}

// NTC and PTC: r25 with beta, or a curve.
void check_thermistor(TableReader& reader, Part& part) {
  const bool formula = reader.has("r25_ohm") || reader.has("b_k");
  if (formula && reader.has("curve"))
    return reader.error("two-ways", "curve", reader.who() + " has both a curve and r25_ohm or b_k",
                        "give one of the two");
  if (reader.has("curve")) return;
  const double r25 = value_of(part, "r25_ohm"), beta = value_of(part, "b_k");
  const bool falls = part.kind == PartKind::kNtc;
  if (r25 <= 0.0 || beta == 0.0)
    return reader.report().error_unless_damaged("missing-value", reader.at("kind"), 1,
                                                reader.who() + " has neither a curve nor both r25_ohm and b_k",
                                                "write r25_ohm and b_k, or a curve of [degC, ohm]");
  if ((beta > 0.0) != falls)
    return reader.error("out-of-range", "b_k", "b_k of " + reader.who() + " has the wrong sign",
                        falls ? "it is positive for an ntc" : "it is negative for a ptc; or give a curve");
  const double at = value_of(part, "at");
  if (at < kColdest || at > kHottest)
    return reader.error("out-of-range", "at", reader.who() + " is at " + base::format_number(at) + " degC",
                        "a thermistor told by b_k works between -100 and 400 degC");
  check_worked_out(reader, "at", r25 * std::exp(beta * (1.0 / (at + 273.15) - 1.0 / 298.15)), 0.01, kMostCurveY);
}

void check_curve_given(TableReader& reader, const Part& part) {
  if (reader.has("curve")) return;
  reader.report().error_unless_damaged("missing-value", reader.at("kind"), 1, reader.who() + " has no curve",
                                       curve_hint(part));
}

void work_out_relay(TableReader& reader, double system_volts, Part& part) {
  double& pull_in = value_of(part, "pull_in_v");
  double& drop_out = value_of(part, "drop_out_v");
  if (!reader.has("pull_in_v")) pull_in = kPullInShare * system_volts;
  if (!reader.has("drop_out_v")) drop_out = std::min(kDropOutShare * system_volts, pull_in);
  if (drop_out > pull_in)
    reader.error("out-of-range", "drop_out_v", reader.who() + " would drop out above where it pulls in",
                 "drop_out_v is below pull_in_v");
}

void work_out(TableReader& reader, double system_volts, Part& part) {
  const auto fill = [&](std::string_view field, double value) {
    if (!reader.has(field)) value_of(part, field) = value;
  };
  switch (part.kind) {
    case PartKind::kFuse:
      return fill("ohm", kFuseVolts / value_of(part, "rating_a"));
    case PartKind::kRelay:
      return work_out_relay(reader, system_volts, part);
    case PartKind::kLamp:
      return fill("volt", system_volts);
    case PartKind::kMotor:
    case PartKind::kSolenoid:
    case PartKind::kHeater:
      return work_out_load(reader, system_volts, part);
    case PartKind::kNtc:
    case PartKind::kPtc:
      return check_thermistor(reader, part);
    case PartKind::kSender:
    case PartKind::kThreeWireSensor:
      return check_curve_given(reader, part);
    case PartKind::kBattery:
      return fill("volt", kBatteryShare * system_volts);
    case PartKind::kAlternator:
      return fill("volt", kAlternatorShare * system_volts);
    default:
      return;
  }
}

}  // namespace

void read_part_values(TableReader& reader, double system_volts, Part& part) {
  for (const circuit::PartField& field : circuit::part_kind(part.kind).fields) {
    const double fallback = std::isfinite(field.fallback) ? field.fallback : field.low;
    part.values.push_back(reader.maybe_number(field.name).value_or(fallback));
  }
  read_curve(reader, part);
  work_out(reader, system_volts, part);
}

}  // namespace halfsplit::formats
