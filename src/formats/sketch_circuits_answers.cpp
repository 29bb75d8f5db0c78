// SPDX-License-Identifier: Apache-2.0
// Answers as they are typed to single circuits: "P3 @ tank", "J4:3/5 @ bulkhead", "-40=50k, 20=2500, 120=120".
#include "base/number.h"
#include "circuit/code_names.h"
#include "formats/sketch_circuits.h"

namespace halfsplit::formats {

namespace {

std::string or_usual(const std::string& name, const std::string& usual) { return name.empty() ? usual : name; }

}  // namespace

base::Result<Sketched> draw_feed(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  FeedSketch sketch;
  sketch.load = read_thing(reader, "load", "");
  sketch.load_kind = read_word(reader, "load-kind", {"motor", "lamp", "solenoid", "heater"});
  sketch.fuse = read_thing(reader, "fuse", "F1");
  sketch.button = read_thing(reader, "switch", "S1");
  sketch.relay = read_thing(reader, "relay", "");
  sketch.ground = read_thing(reader, "ground", "G1");
  sketch.plugs = read_plugs(reader, 1);
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.watt = reader.number("watt", 60.0, base::Unit::kWatt, 0.1, 10000.0);
  sketch.rating_a = reader.number("rating", 10.0, base::Unit::kAmpere, 0.1, 500.0);
  sketch.wire_mm2 = reader.number("size", 1.5, base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.metres = reader.number("length", 8.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = or_usual(reader.one("name"), "Feed of " + sketch.load.name);
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  return write_feed_sketch(sketch, reader);
}

base::Result<Sketched> draw_two_wire_sensor(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  SensorSketch sketch;
  sketch.module = read_thing(reader, "module", "");
  sketch.sensor = read_thing(reader, "sensor", "");
  sketch.signal_pin = read_pin(reader, "signal-pin", "1");
  sketch.return_pin = read_pin(reader, "return-pin", "2");
  if (sketch.signal_pin == sketch.return_pin)
    reader.error("sketch.bad-answer", "return-pin: \"" + sketch.return_pin + "\" is the signal's pin as well",
                 "name two cavities");
  sketch.plugs = read_plugs(reader, 2);
  sketch.curve = read_curve(reader, base::Unit::kOhm, 0.001, 1e9, "-40=50k, 20=2500, 120=120");
  const double low = sketch.curve.front().first, high = sketch.curve.back().first;
  sketch.at = reader.number("at", low + 0.5 * (high - low), base::Unit::kNone, low, high);
  sketch.at_tolerance = (reader.told("at") ? 0.05 : 0.5) * (high - low);
  sketch.unit = reader.one("unit");
  sketch.pull_up_ohm = reader.number("pull-up", 2200.0, base::Unit::kOhm, 1.0, 1e7);
  sketch.code_high = circuit::usual_code_name(reader.one("code-high"));
  sketch.code_low = circuit::usual_code_name(reader.one("code-low"));
  if (!sketch.code_high.empty() && sketch.code_high == sketch.code_low)
    reader.error("sketch.same-name", "code-low: it is the code for too high as well", "each code stands once");
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.metres = reader.number("length", 8.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = or_usual(reader.one("name"), "Sensor " + sketch.sensor.name);
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  return write_sensor_sketch(sketch, reader);
}

}  // namespace halfsplit::formats
