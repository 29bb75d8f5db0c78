// SPDX-License-Identifier: Apache-2.0
// Templates of single circuits: a load with its feed and ground, a sensor on two wires. From typed answers to loom
// text. Units: V, W, A, ohm, m.
#pragma once

#include <string>
#include <vector>

#include "formats/sketch.h"
#include "formats/sketch_things.h"

namespace halfsplit::formats {

struct FeedSketch {
  std::string name, vehicle;
  double system_volts = 24.0;
  SketchedThing load, fuse, relay, button, ground;  // relay: without a name there is none
  std::string load_kind = "motor";
  double watt = 60.0, rating_a = 10.0, wire_mm2 = 1.5, metres = 8.0;
  std::vector<SketchedPlug> plugs;  // feed and, with a second cavity, the ground wire as well
};

struct SensorSketch {
  std::string name, vehicle;
  double system_volts = 24.0;
  SketchedThing module, sensor;
  std::string signal_pin = "1", return_pin = "2";
  double pull_up_ohm = 2200.0, metres = 8.0;
  SketchedCurve curve;  // what it senses, ohm
  double at = 0.0, at_tolerance = 0.0;
  std::string unit;
  std::string code_high, code_low;  // empty: none
  std::vector<SketchedPlug> plugs;  // two cavities each
};

[[nodiscard]] Sketched write_feed_sketch(const FeedSketch& sketch, AnswerReader& names);
[[nodiscard]] Sketched write_sensor_sketch(const SensorSketch& sketch, AnswerReader& names);

// The templates' functions.
[[nodiscard]] base::Result<Sketched> draw_feed(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_two_wire_sensor(const SketchAnswers& answers);

}  // namespace halfsplit::formats
