// SPDX-License-Identifier: Apache-2.0
// Charging: batteries, alternator, warning lamp that excites it, cables and the grounds between engine and frame. The
// alternator's windings are one source; its diodes are drawn, as the lamp tells by them: key -> lamp -> D+ -> rotor ->
// ground lights it, and the windings' diode lifts D+ when it charges (the circuit of an alternator with exciter diodes,
// common practice).
#include "base/number.h"
#include "formats/sketch_circuit_text.h"
#include "formats/sketch_draw.h"

namespace halfsplit::formats {

namespace {

struct ChargingSketch {
  std::string name, vehicle;
  double system_volts = 24.0, metres = 4.0, cable_mm2 = 50.0, rating_a = 200.0, lamp_watt = 3.0, load_watt = 240.0;
  bool rating_told = false;
  std::size_t batteries = 2;
  SketchedThing alternator, battery, fuse, lamp, key, engine_strap;
};

ChargingSketch read_charging(AnswerReader& reader) {
  ChargingSketch sketch;
  sketch.alternator = read_thing(reader, "alternator", "GEN");
  sketch.battery = read_thing(reader, "battery", "BAT");
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.batteries = static_cast<std::size_t>(
      reader.number("batteries", sketch.system_volts > 18.0 ? 2.0 : 1.0, base::Unit::kNone, 1.0, 4.0));
  sketch.fuse = read_thing(reader, "main-fuse", "");
  sketch.rating_a = reader.number("rating", 200.0, base::Unit::kAmpere, 0.1, 500.0);
  sketch.lamp = read_thing(reader, "lamp", "H1");
  sketch.lamp_watt = reader.number("lamp-watt", 3.0, base::Unit::kWatt, 0.1, 50.0);
  sketch.key = read_thing(reader, "key", "S1");
  sketch.engine_strap = read_thing(reader, "strap", "");
  sketch.load_watt = reader.number("consumers", 240.0, base::Unit::kWatt, 1.0, 5000.0);
  sketch.cable_mm2 = reader.number("size", 50.0, base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.metres = reader.number("length", 4.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = reader.one("name", "Charging, " + sketch.alternator.name);
  sketch.vehicle = reader.one("vehicle");
  return sketch;
}

// What is made of the names told: each ours, and none of them used twice.
struct ChargingNames {
  std::vector<std::string> batteries;
  std::string output_diode, exciter_diode, rotor, exciter, fuse, consumers, splice, minus, frame_stud, engine_stud,
      frame, engine;
};

ChargingNames name_all(const ChargingSketch& sketch, AnswerReader& names) {
  ChargingNames made;
  made.batteries = {sketch.battery.name};
  for (std::size_t i = 1; i < sketch.batteries; ++i)
    made.batteries.push_back(names.fresh_name(sketch.battery.name + "-" + std::to_string(i + 1)));
  made.output_diode = names.fresh_name(sketch.alternator.name + " output diodes");
  made.exciter_diode = names.fresh_name(sketch.alternator.name + " exciter diodes");
  made.rotor = names.fresh_name(sketch.alternator.name + " rotor");
  made.exciter = names.fresh_name(sketch.alternator.name + " D+");
  made.fuse = names.fresh_name("F-" + sketch.lamp.name);
  made.consumers = names.fresh_name("consumers");
  made.splice = names.fresh_name("main-plus");
  made.minus = names.fresh_name("G-" + sketch.battery.name);
  const std::string strap = sketch.engine_strap.name.empty() ? "strap" : sketch.engine_strap.name;
  made.frame_stud = names.fresh_name(strap + " at the frame");
  made.engine_stud = names.fresh_name(strap + " at the engine");
  made.frame = names.fresh_name("chassis");
  made.engine = names.fresh_name("engine");
  return made;
}

void write_batteries(CircuitText& text, const ChargingSketch& sketch, const ChargingNames& named) {
  for (std::size_t i = 0; i < named.batteries.size(); ++i) {
    text.part({named.batteries[i], text.place_of(sketch.battery)}, "battery");
    if (named.batteries.size() > 1)
      text.out.number("volt", 1.05 * sketch.system_volts / static_cast<double>(named.batteries.size()), true);
  }
}

void write_alternator(CircuitText& text, const ChargingSketch& sketch, const ChargingNames& named) {
  SketchText& out = text.out;
  const SketchedThing here{"", text.place_of(sketch.alternator)};
  text.part({sketch.alternator.name, here.place}, "alternator", "its windings and regulator");
  out.number("volt", 1.18 * sketch.system_volts + 0.7, true);
  out.line("runs_with", "[\"engine-running\"]");
  out.line("plug", "false");
  text.part({named.output_diode, here.place}, "diode");
  out.number("ohm", 0.002, true);
  text.part({named.exciter_diode, here.place}, "diode");
  text.part({named.rotor, here.place}, "heater", "field winding with brushes");
  out.number("ohm", sketch.system_volts > 18.0 ? 9.0 : 4.0, true);
  out.line("plug", "false");
}

void write_rest(CircuitText& text, const ChargingSketch& sketch, const ChargingNames& named) {
  SketchText& out = text.out;
  text.part(sketch.key, "switch", "key switch");
  out.line("plug", "false");
  text.part({named.fuse, text.place_of(sketch.key)}, "fuse");
  out.number("rating_a", 5.0, true);
  if (!sketch.fuse.name.empty()) {
    text.part(sketch.fuse, "fuse");
    out.number("rating_a", sketch.rating_a, !sketch.rating_told);
    out.line("plug", "false");
  }
  text.part(sketch.lamp, "lamp", "charge warning lamp");
  out.number("watt", sketch.lamp_watt);
  text.part({named.consumers, "fuses"}, "heater", "what is switched on, all together");
  out.number("watt", sketch.load_watt);
  text.frame(named.frame);
  text.frame(named.engine);
  out.table("splices", named.splice, "main plus, behind the batteries");
  out.text("place", "fuses", true);
  out.table("splices", named.exciter, "the alternator's D+");
  out.text("place", text.place_of(sketch.alternator), true);
  for (const auto& [stud, frame] :
       {std::pair{named.minus, named.frame}, {named.frame_stud, named.frame}, {named.engine_stud, named.engine}}) {
    text.stud({stud, stud == named.minus ? text.place_of(sketch.battery) : text.place_of(sketch.alternator)}, frame);
    out.number("ohm", 0.0001, true);
  }
}

void write_runs(CircuitText& text, const ChargingSketch& sketch, const ChargingNames& named) {
  SketchText& out = text.out;
  const std::string cable = base::format_number(sketch.cable_mm2) + "mm2 ";
  const std::string length = base::format_significant(sketch.metres, 3) + "m";
  const std::string& gen = sketch.alternator.name;
  out.section("runs");
  out.text("minus", named.batteries.front() + ":- -[BK " + cable + "0.8m]-> " + named.minus, true);
  for (std::size_t i = 0; i + 1 < named.batteries.size(); ++i)
    out.text("link-" + std::to_string(i + 1),
             named.batteries[i] + ":+ -[RD " + cable + "0.4m]-> " + named.batteries[i + 1] + ":-", true);
  out.text("plus", named.batteries.back() + ":+ -[RD " + cable + "1.5m]-> " + named.splice, true);
  const std::string fuse = sketch.fuse.name.empty() ? "" : sketch.fuse.name + " -[RD " + cable + "0.5m]-> ";
  out.text("charge", named.output_diode + ":K -[RD " + cable + length + "]-> " + fuse + named.splice);
  out.text("consumer-feed", named.splice + " -[RD 6mm2 1m]-> " + named.consumers + " -[BN 6mm2 1m]-> " + named.minus,
           true);
  out.text("lamp", named.splice + " -[RD 4mm2 1m]-> " + sketch.key.name + " -[RD 1mm2 0.5m]-> " + named.fuse +
                       " -[RD 1mm2 1m]-> " + sketch.lamp.name + " -[BU 1mm2 " + length + "]-> " + named.exciter);
  out.text("inside-output", gen + ":+ -[0R001]-> " + named.output_diode + ":A", true);
  out.text("inside-exciter", gen + ":+ -[0R001]-> " + named.exciter_diode + " -[0R01]-> " + named.exciter, true);
  out.text("inside-field", named.exciter + " -[0R01]-> " + named.rotor + " -[0R01]-> " + named.engine, true);
  out.text("inside-ground", gen + ":- -[0R0001]-> " + named.engine, true);
  out.text(toml_key(sketch.engine_strap.name.empty() ? "strap" : sketch.engine_strap.name),
           named.engine_stud + " -[BK " + cable + "0.6m]-> " + named.frame_stud, true);
}

Sketched write_charging(const ChargingSketch& sketch, AnswerReader& names) {
  const ChargingNames named = name_all(sketch, names);
  CircuitText text(sketch.metres);
  text.head(sketch.name, sketch.vehicle, sketch.system_volts, {"key-on", "engine-running"});
  text.setup("key-on", {sketch.key.name});
  text.setup("engine-running", {}, {"key-on"});
  text.out.text("caution", "Turning fan and belts, hot parts: hands, leads and sleeves clear.");
  write_batteries(text, sketch, named);
  write_alternator(text, sketch, named);
  write_rest(text, sketch, named);
  text.places();
  write_runs(text, sketch, named);
  std::vector<std::string> assumed{
      "an alternator that its warning lamp excites (D+); inside it windings, diodes and rotor as usual",
      "one strap from engine to frame; the alternator sits bare on the engine",
      "sizes and colours of wires, " + base::format_number(sketch.load_watt) + " W of consumers, 1 min to every place"};
  if (sketch.fuse.name.empty()) assumed.push_back("no main fuse in the charging cable");
  return {sketch.name, text.out.str(), assumed};
}

}  // namespace

base::Result<Sketched> draw_charging_circuit(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  ChargingSketch sketch = read_charging(reader);
  sketch.rating_told = reader.told("rating");
  if (!reader.errors().empty()) return reader.errors();
  return write_charging(sketch, reader);
}

}  // namespace halfsplit::formats
