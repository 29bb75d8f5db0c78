// SPDX-License-Identifier: Apache-2.0
// A sensor on three wires: supply and ground from the module, the signal between them. What stands behind the module's
// pins is told as far as it is known: a reference voltage, a pull-up or pull-down on the signal.
#include <algorithm>

#include "base/number.h"
#include "circuit/code_names.h"
#include "formats/sketch_circuit_text.h"
#include "formats/sketch_draw.h"

namespace halfsplit::formats {

namespace {

struct ThreeWireSketch {
  std::string name, vehicle;
  double system_volts = 24.0, metres = 8.0;
  SketchedThing module, sensor;
  std::string pins[3];  // supply, signal, ground: of the module
  std::vector<SketchedPlug> plugs;
  double reference_v = 5.0;
  double pull_up_ohm = 0.0, pull_down_ohm = 0.0;  // 0: none
  SketchedCurve curve;                            // what it senses, V at the signal
  bool curve_told = false, at_told = false;
  double at = 0.0;
  std::string unit, code_high, code_low;
};

void read_sensor_pins(AnswerReader& reader, ThreeWireSketch& sketch) {
  constexpr std::string_view kQuestions[] = {"supply-pin", "signal-pin", "ground-pin"};
  constexpr std::string_view kUsual[] = {"1", "2", "3"};
  for (std::size_t i = 0; i < 3; ++i) {
    sketch.pins[i] = read_pin(reader, kQuestions[i], kUsual[i]);
    if (std::find(sketch.pins, sketch.pins + i, sketch.pins[i]) != sketch.pins + i)
      reader.error(
          "sketch.bad-answer",
          std::string(kQuestions[i]) + ": \"" + sketch.pins[i] + "\" is another of the three wires' pin as well",
          "name three cavities: supply-pin, signal-pin, ground-pin");
  }
}

void read_sensing(AnswerReader& reader, ThreeWireSketch& sketch) {
  sketch.reference_v = reader.number("reference", 5.0, base::Unit::kVolt, 1.0, 48.0);
  sketch.curve_told = reader.told("curve");
  sketch.curve = sketch.curve_told ? read_curve(reader, base::Unit::kVolt, 0.0, sketch.reference_v, "0=0.5, 10=4.5")
                                   : SketchedCurve{{0.0, 0.1 * sketch.reference_v}, {100.0, 0.9 * sketch.reference_v}};
  const double low = sketch.curve.front().first, high = sketch.curve.back().first;
  sketch.at_told = reader.told("at");
  sketch.at = reader.number("at", low + 0.5 * (high - low), base::Unit::kNone, low, high);
  sketch.unit = reader.one("unit", sketch.curve_told ? "" : "%");
}

ThreeWireSketch read_three_wire(AnswerReader& reader) {
  ThreeWireSketch sketch;
  sketch.module = read_thing(reader, "module", "");
  sketch.sensor = read_thing(reader, "sensor", "");
  read_sensor_pins(reader, sketch);
  sketch.plugs = read_plugs(reader, 3, 3);
  read_sensing(reader, sketch);
  sketch.pull_up_ohm = reader.number("pull-up", 0.0, base::Unit::kOhm, 0.0, 1e7);
  sketch.pull_down_ohm = reader.number("pull-down", 0.0, base::Unit::kOhm, 0.0, 1e7);
  sketch.code_high = circuit::usual_code_name(reader.one("code-high"));
  sketch.code_low = circuit::usual_code_name(reader.one("code-low"));
  if (!sketch.code_high.empty() && sketch.code_high == sketch.code_low)
    reader.error("sketch.same-name", "code-low: it is the code for too high as well", "each code stands once");
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.metres = reader.number("length", 8.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = reader.one("name", "Sensor " + sketch.sensor.name);
  sketch.vehicle = reader.one("vehicle");
  return sketch;
}

std::string input_role(const ThreeWireSketch& sketch) {
  std::string role = "{ role = \"input\"";
  if (sketch.pull_up_ohm > 0.0)
    role += ", pull_up_ohm = " + base::format_number(sketch.pull_up_ohm) +
            ", pull_up_v = " + base::format_number(sketch.reference_v);
  if (sketch.pull_down_ohm > 0.0) role += ", pull_down_ohm = " + base::format_number(sketch.pull_down_ohm);
  return role + " }";
}

void write_sensor(CircuitText& text, const ThreeWireSketch& sketch) {
  text.part(sketch.sensor, "three-wire-sensor");
  std::string curve;
  for (const auto& [x, volts] : sketch.curve)
    curve += (curve.empty() ? "[" : ", [") + base::format_number(x) + ", " +
             base::format_significant(volts / sketch.reference_v, 6) + "]";
  text.out.line("curve", "[" + curve + "]", !sketch.curve_told);
  const double span = sketch.curve.back().first - sketch.curve.front().first;
  text.out.number("at", sketch.at, !sketch.at_told);
  text.out.number("at_tolerance", (sketch.at_told ? 0.05 : 0.5) * span, true);
  text.out.number("alive_above_v", 0.8 * sketch.reference_v, true);
}

void write_module(CircuitText& text, const ThreeWireSketch& sketch) {
  SketchText& out = text.out;
  out.table("modules", sketch.module.name);
  out.text("place", text.place_of(sketch.module), sketch.module.place.empty());
  out.section("modules." + toml_key(sketch.module.name) + ".pins");
  out.line("\"+\"", "{ role = \"supply\", draw_a = 0.3 }", true);
  out.line("\"-\"", "\"ground\"");
  out.line(toml_key(sketch.pins[0]),
           "{ role = \"reference\", volt = " + base::format_number(sketch.reference_v) + " }");
  out.line(toml_key(sketch.pins[1]), input_role(sketch));
  out.line(toml_key(sketch.pins[2]), "\"return\"");
}

void write_codes(SketchText& out, const ThreeWireSketch& sketch) {
  double least = sketch.reference_v, most = 0.0;
  for (const auto& [x, volts] : sketch.curve) {
    least = std::min(least, volts);
    most = std::max(most, volts);
  }
  for (const bool high : {true, false}) {
    const std::string& code = high ? sketch.code_high : sketch.code_low;
    if (code.empty()) continue;
    out.table("codes", code);
    out.text("module", sketch.module.name);
    out.text("text", sketch.sensor.name + (high ? ", voltage above normal" : ", voltage below normal"));
    out.text("pin", sketch.pins[1]);
    // Beyond what a healthy sensor shows at the ends of its scale.
    out.number(high ? "above_v" : "below_v",
               high ? std::max(0.97 * sketch.reference_v, 0.5 * (most + sketch.reference_v))
                    : std::min(0.03 * sketch.reference_v, 0.5 * least),
               true);
    out.line("needs", "[\"key-on\"]");
  }
  out.table("live", sketch.sensor.name);
  out.text("module", sketch.module.name);
  out.text("pin", sketch.pins[1]);
  out.text("part", sketch.sensor.name);
  if (!sketch.unit.empty()) out.text("unit", sketch.unit);
  out.number("low", sketch.curve.front().first);
  out.number("high", sketch.curve.back().first);
}

Sketched write_three_wire(const ThreeWireSketch& sketch, AnswerReader& names) {
  const std::string battery = names.fresh_name("BAT"), minus = names.fresh_name("G-BAT"), key = names.fresh_name("S1");
  const std::string fuse = names.fresh_name("F-" + sketch.module.name);
  const std::string stud = names.fresh_name("G-" + sketch.module.name);
  CircuitText text(sketch.metres);
  SketchText& out = text.out;
  text.head(sketch.name, sketch.vehicle, sketch.system_volts, {"key-on"});
  text.setup("key-on", {key});
  text.plugs(sketch.plugs, sketch.module.name, sketch.sensor.name);
  text.part({battery, "battery"}, "battery");
  text.part({key, "fuses"}, "switch", "key switch");
  out.line("plug", "false");
  text.part({fuse, "fuses"}, "fuse");
  out.number("rating_a", 10.0, true);
  write_sensor(text, sketch);
  write_module(text, sketch);
  text.frame(names.fresh_name("chassis"));
  text.stud({minus, "battery"});
  text.stud({stud, text.place_of(sketch.module)});
  text.places();
  out.section("runs");
  out.text("minus", battery + ":- -[BK 25mm2 1m]-> " + minus, true);
  out.text("power",
           battery + ":+ -[RD 6mm2 2m]-> " + key + " -[RD 1.5mm2 1m]-> " + fuse + " -[RD 1mm2 2m]-> " +
               sketch.module.name + ":+",
           true);
  out.text("module-ground", sketch.module.name + ":- -[BN 1mm2 1m]-> " + stud, true);
  constexpr const char* kWires[] = {"RD 0.5mm2", "YE 0.5mm2", "BK 0.5mm2"};
  constexpr const char* kRuns[] = {"supply", "signal", "ground"};
  constexpr const char* kTerminals[] = {":+", ":S", ":-"};
  for (std::size_t i = 0; i < 3; ++i)
    out.text(kRuns[i], text.path(sketch.module.name + ":" + sketch.pins[i], sketch.plugs, i,
                                 sketch.sensor.name + kTerminals[i], kWires[i]));
  write_codes(out, sketch);
  std::vector<std::string> assumed{"battery, key switch, and the module's own fuse and ground stud",
                                   "1 min to every place; colours and sizes of wires",
                                   "the sensor needs four fifths of its supply; the codes' limits"};
  if (!sketch.curve_told)
    assumed.push_back("its curve: a tenth to nine tenths of the supply, as a ratiometric sensor has");
  if (!sketch.at_told) assumed.push_back("what it senses now: anything of its range");
  if (!(sketch.pull_up_ohm > 0.0 || sketch.pull_down_ohm > 0.0))
    assumed.push_back("no pull-up and no pull-down behind the signal's pin, 1 Mohm to ground");
  return {sketch.name, out.str(), assumed};
}

}  // namespace

base::Result<Sketched> draw_three_wire_sensor(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  const ThreeWireSketch sketch = read_three_wire(reader);
  if (!reader.errors().empty()) return reader.errors();
  return write_three_wire(sketch, reader);
}

}  // namespace halfsplit::formats
