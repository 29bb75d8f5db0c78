// SPDX-License-Identifier: Apache-2.0
// Curves and materials: sender and sensor curves, beta thermistors, copper. Copper: 0.017241 ohm mm2/m at 20 degC (100
// % IACS, IEC 60028), temperature coefficient 0.00393/K.
#include <algorithm>
#include <cmath>

#include "circuit/netlist.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

constexpr double kCopperResistivity = 0.017241;
constexpr double kCopperPerKelvin = 0.00393;
constexpr double kKelvin = 273.15;
constexpr double kKelvin25 = 298.15;

double beta_ohm(const Part& part, double celsius) {
  const double kelvin = std::max(celsius + kKelvin, 1.0);
  return part_value(part, "r25_ohm") * std::exp(part_value(part, "b_k") * (1.0 / kelvin - 1.0 / kKelvin25));
}

bool thermistor(const Part& part) { return part.kind == PartKind::kNtc || part.kind == PartKind::kPtc; }

}  // namespace

double copper_ohm(double size_mm2, double length_m, double temperature_c) {
  return kCopperResistivity * length_m / size_mm2 * (1.0 + kCopperPerKelvin * (temperature_c - 20.0));
}

double curve_value(const Curve& curve, double x) {
  const auto& points = curve.points;
  if (points.empty()) return 0.0;
  if (x <= points.front().first) return points.front().second;
  if (x >= points.back().first) return points.back().second;
  const auto right =
      std::upper_bound(points.begin(), points.end(), x, [](double v, const auto& p) { return v < p.first; });
  const auto left = right - 1;
  return left->second + (right->second - left->second) * (x - left->first) / (right->first - left->first);
}

std::optional<double> curve_inverse(const Curve& curve, double y) {
  const auto& points = curve.points;
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    const double y0 = points[i].second;
    const double y1 = points[i + 1].second;
    if (y0 == y1) {
      if (y == y0) return points[i].first;
      continue;
    }
    const double t = (y - y0) / (y1 - y0);
    if (t >= 0.0 && t <= 1.0) return points[i].first + t * (points[i + 1].first - points[i].first);
  }
  return std::nullopt;
}

double sensor_ohm(const Part& part) {
  const double at = part_value(part, "at");
  if (thermistor(part) && part.curve.points.empty()) return beta_ohm(part, at);
  return std::max(curve_value(part.curve, at), 0.01);
}

std::optional<double> sensor_value(const Part& part, double y) {
  if (!thermistor(part) || !part.curve.points.empty()) return curve_inverse(part.curve, y);
  if (y <= 0.0) return std::nullopt;
  const double inverse_kelvin = std::log(y / part_value(part, "r25_ohm")) / part_value(part, "b_k") + 1.0 / kKelvin25;
  if (inverse_kelvin <= 0.0) return std::nullopt;
  const double celsius = 1.0 / inverse_kelvin - kKelvin;
  if (celsius < -60.0 || celsius > 300.0) return std::nullopt;
  return celsius;
}

}  // namespace halfsplit::circuit
