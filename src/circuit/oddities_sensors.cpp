// SPDX-License-Identifier: Apache-2.0
// Curves: does a sensor, healthy and within its range, ever trip the code that watches its pin? The volts are those of
// the divider pull-up over sensor (and pull-down, input), with the return taken as 0 V; a three-wire sensor gives its
// share of the reference.
#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/number.h"
#include "circuit/netlist.h"
#include "circuit/oddity_checks.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

// Degrees a thermistor without a curve or a live value is asked to cover.
constexpr double kColdC = -20.0, kHotC = 120.0;

bool is_two_wire(PartKind kind) {
  return kind == PartKind::kNtc || kind == PartKind::kPtc || kind == PartKind::kSender;
}

std::string value_text(double value) { return base::format_significant(value, 3); }

// The range the sensor is to cover: its curve, or the scale it is shown on.
std::pair<double, double> find_range(const Loom& loom, PartId id) {
  const Part& part = loom.parts[id.index()];
  if (!part.curve.points.empty()) return {part.curve.points.front().first, part.curve.points.back().first};
  for (const Live& live : loom.lives)
    if (live.part == id) return {live.low, live.high};
  return {kColdC, kHotC};
}

double ohm_at(Part part, double x) {
  part.values[field_index(part.kind, "at")] = x;
  return sensor_ohm(part);
}

double pin_volts(const Loom& loom, const ModulePin& pin, double sensor) {
  const double input = pin.input_ohm > 0.0 ? pin.input_ohm : loom.defaults.input_ohm;
  double siemens = 1.0 / std::max(sensor, 1.0e-3) + 1.0 / input;
  if (pin.pull_down_ohm > 0.0) siemens += 1.0 / pin.pull_down_ohm;
  return pin.pull_up_v / (1.0 + pin.pull_up_ohm * siemens);
}

struct Volts {
  double x, volts;
};

// Volts at the pin along the sensor's range.
std::vector<Volts> trace_volts(const Loom& loom, const ModulePin& pin, PartId id) {
  const Part& part = loom.parts[id.index()];
  const auto [low, high] = find_range(loom, id);
  std::vector<double> xs{low, high};
  for (const auto& [x, y] : part.curve.points) xs.push_back(x);
  std::vector<Volts> trace;
  for (const double x : xs) {
    if (part.kind == PartKind::kThreeWireSensor) trace.push_back({x, 5.0 * curve_value(part.curve, x)});
    if (is_two_wire(part.kind) && pin.pull_up_ohm > 0.0) trace.push_back({x, pin_volts(loom, pin, ohm_at(part, x))});
  }
  return trace;
}

class SensorCheck {
 public:
  SensorCheck(const Loom& loom, const OddityGraph& graph, OddityList& list) : loom_(loom), graph_(graph), list_(list) {}

  void run() {
    for (std::size_t i = 0; i < loom_.parts.size(); ++i) check_part(PartId(i));
    for (const Code& code : loom_.codes)
      if (code.monitor == Code::Monitor::kPinAbove || code.monitor == Code::Monitor::kPinBelow) check_code(code);
  }

 private:
  void check_part(PartId id) {
    const Part& part = loom_.parts[id.index()];
    const auto& points = part.curve.points;
    if (points.size() < 2) return;
    const double at = part_value(part, "at");
    if (at < points.front().first || at > points.back().first)
      list_.warn("at-outside-curve", part.where,
                 part.name + " is at " + value_text(at) + ", outside its curve (" + value_text(points.front().first) +
                     " to " + value_text(points.back().first) + ")",
                 "the nearer end of the curve is taken; lengthen the curve, or mend `at`");
    int rising = 0, falling = 0;
    for (std::size_t i = 1; i < points.size(); ++i) {
      rising += points[i].second > points[i - 1].second ? 1 : 0;
      falling += points[i].second < points[i - 1].second ? 1 : 0;
    }
    if (rising > 0 && falling > 0)
      list_.warn("curve-turns", part.where, "the curve of " + part.name + " rises and falls",
                 "one reading then stands for two values; look for a slip in the points");
  }

  void check_code(const Code& code) {
    const Module& module = loom_.modules[code.module.index()];
    const ModulePin& pin = module.pins[code.pin];
    if (pin.role != PinRole::kInput) return;
    const std::optional<PartId> sensor = find_sensor(code);
    if (!sensor) return;
    const bool above = code.monitor == Code::Monitor::kPinAbove;
    for (const Volts& step : trace_volts(loom_, pin, *sensor)) {
      if (above ? step.volts <= code.threshold : step.volts >= code.threshold) continue;
      list_.warn("curve-leaves-window", code.where,
                 "code " + code.name + " sets with a healthy " + loom_.parts[sensor->index()].name + ": at " +
                     value_text(step.x) + " the pin stands at " + value_text(step.volts) + " V, " +
                     (above ? "above " : "below ") + value_text(code.threshold) + " V",
                 "check the curve, the pull-up and the threshold");
      return;
    }
  }

  // The one sensor that hangs on the pin by wires and plugs alone.
  std::optional<PartId> find_sensor(const Code& code) const {
    const Netlist& netlist = graph_.netlist();
    std::optional<PartId> found;
    for (const std::size_t i : graph_.elements_near(netlist.modules[code.module.index()].pin_node[code.pin])) {
      const Element& element = netlist.elements[i];
      if (element.part.is_none() || element.kind == ElementKind::kContact) continue;
      const PartKind kind = loom_.parts[element.part.index()].kind;
      if (kind != PartKind::kThreeWireSensor && !is_two_wire(kind)) return std::nullopt;  // something else joins in
      if (found && *found != element.part) return std::nullopt;
      found = element.part;
    }
    return found;
  }

  const Loom& loom_;
  const OddityGraph& graph_;
  OddityList& list_;
};

}  // namespace

void check_sensors(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  SensorCheck(loom, graph, list).run();
}

}  // namespace halfsplit::circuit
