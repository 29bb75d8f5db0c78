// SPDX-License-Identifier: Apache-2.0
// Typed answers to loom text. What is ours and not told: battery, places' minutes, colours, the module's own supply
// (common practice; every such line is marked).
#include "formats/sketch_circuits.h"

#include <algorithm>

#include "base/number.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_circuit_text.h"

namespace halfsplit::formats {

namespace {

std::string area(double mm2) { return base::format_number(mm2) + "mm2"; }

}  // namespace

Sketched write_feed_sketch(const FeedSketch& sketch, AnswerReader& names) {
  const std::string battery = names.fresh_name("BAT"), minus = names.fresh_name("G-BAT");
  const std::string frame = names.fresh_name("chassis");
  CircuitText text(sketch.metres);
  SketchText& out = text.out;
  const bool relay = !sketch.relay.name.empty();
  text.head(sketch.name, sketch.vehicle, sketch.system_volts, {"on"});
  text.setup("on", {sketch.button.name});
  text.plugs(sketch.plugs, relay ? sketch.relay.name : sketch.button.name, sketch.load.name);
  text.part({battery, "battery"}, "battery");
  text.part(sketch.fuse, "fuse");
  out.number("rating_a", sketch.rating_a);
  text.part(sketch.button, "switch");
  if (relay) {
    text.part(sketch.relay, "relay");
    out.number("coil_ohm", sketch.system_volts > 18.0 ? 300.0 : 85.0, true);
  }
  text.part(sketch.load, sketch.load_kind);
  out.number("watt", sketch.watt);
  out.section("frames");
  out.line(toml_key(frame), "{}");
  const std::string splice = relay ? names.fresh_name("S-" + sketch.fuse.name) : "";
  if (relay) {
    out.table("splices", splice, "feeds coil and contact");
    out.text("place", text.place_of(sketch.fuse), true);
    out.line("probe", "false", true);
  }
  const std::string coil_ground = relay ? names.fresh_name("G-" + sketch.relay.name) : "";
  for (const SketchedThing& stud : {SketchedThing{minus, "battery"}, sketch.ground,
                                    SketchedThing{coil_ground, relay ? text.place_of(sketch.relay) : ""}}) {
    if (stud.name.empty()) continue;
    text.stud(stud);
  }
  text.places();
  const std::string feed = "RD " + area(sketch.wire_mm2), ground = "BN " + area(sketch.wire_mm2);
  out.section("runs");
  out.text("minus", battery + ":- -[BK 25mm2 1m]-> " + minus, true);
  out.text("supply", battery + ":+ -[RD 6mm2 2m]-> " + sketch.fuse.name, true);
  if (relay) {
    out.text("behind-fuse", sketch.fuse.name + ":2 -[" + feed + " 0.3m]-> " + splice, true);
    out.text("coil",
             splice + " -[RD 1mm2 1m]-> " + sketch.button.name + " -[RD 1mm2 2m]-> " + sketch.relay.name +
                 ":86/85 -[BN 1mm2 1m]-> " + coil_ground,
             true);
    out.text("contact", splice + " -[" + feed + " 1m]-> " + sketch.relay.name + ":30", true);
    out.text("feed", text.path(sketch.relay.name + ":87", sketch.plugs, 0, sketch.load.name + ":1", feed));
  } else {
    out.text("contact", sketch.fuse.name + ":2 -[" + feed + " 1m]-> " + sketch.button.name + ":1", true);
    out.text("feed", text.path(sketch.button.name + ":2", sketch.plugs, 0, sketch.load.name + ":1", feed));
  }
  out.text("ground", text.path(sketch.load.name + ":2", sketch.plugs, 1, sketch.ground.name, ground, true));
  std::vector<std::string> assumed{
      "battery and its cables, colours of wires, 1 min to every place",
      relay ? "the coil's resistance; coil and contact hang on one fuse" : "the switch carries the load's current"};
  if (sketch.plugs.empty()) assumed.push_back("no plug between " + sketch.fuse.name + " and " + sketch.load.name);
  return {sketch.name, out.str(), assumed};
}

Sketched write_sensor_sketch(const SensorSketch& sketch, AnswerReader& names) {
  const std::string battery = names.fresh_name("BAT"), minus = names.fresh_name("G-BAT");
  const std::string key = names.fresh_name("S1"), frame = names.fresh_name("chassis");
  const std::string fuse = names.fresh_name("F-" + sketch.module.name),
                    stud = names.fresh_name("G-" + sketch.module.name);
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
  text.part(sketch.sensor, "sender");
  std::string curve;
  for (const auto& [x, ohm] : sketch.curve)
    curve += (curve.empty() ? "[" : ", [") + base::format_number(x) + ", " + base::format_number(ohm) + "]";
  out.line("curve", "[" + curve + "]");
  out.number("at", sketch.at);
  out.number("at_tolerance", sketch.at_tolerance, true);
  out.table("modules", sketch.module.name);
  out.text("place", text.place_of(sketch.module), sketch.module.place.empty());
  out.section("modules." + toml_key(sketch.module.name) + ".pins");
  out.line("\"+\"", "{ role = \"supply\", draw_a = 0.3 }", true);
  out.line("\"-\"", "\"ground\"");
  out.line(toml_key(sketch.signal_pin),
           "{ role = \"input\", pull_up_ohm = " + base::format_number(sketch.pull_up_ohm) + " }");
  out.line(toml_key(sketch.return_pin), "\"return\"");
  out.section("frames");
  out.line(toml_key(frame), "{}");
  for (const SketchedThing& one : {SketchedThing{minus, "battery"}, SketchedThing{stud, text.place_of(sketch.module)}})
    text.stud(one);
  text.places();
  out.section("runs");
  out.text("minus", battery + ":- -[BK 25mm2 1m]-> " + minus, true);
  out.text("supply",
           battery + ":+ -[RD 6mm2 2m]-> " + key + " -[RD 1.5mm2 1m]-> " + fuse + " -[RD 1mm2 2m]-> " +
               sketch.module.name + ":+",
           true);
  out.text("module-ground", sketch.module.name + ":- -[BN 1mm2 1m]-> " + stud, true);
  out.text("signal", text.path(sketch.module.name + ":" + sketch.signal_pin, sketch.plugs, 0, sketch.sensor.name + ":1",
                               "YE 0.5mm2"));
  out.text("return", text.path(sketch.module.name + ":" + sketch.return_pin, sketch.plugs, 1, sketch.sensor.name + ":2",
                               "GN 0.5mm2"));
  // Healthy volts at the ends of the scale; the codes' limits lie beyond.
  double least = 5.0, most = 0.0;
  for (const auto& [x, ohm] : sketch.curve) {
    least = std::min(least, 5.0 * ohm / (ohm + sketch.pull_up_ohm));
    most = std::max(most, 5.0 * ohm / (ohm + sketch.pull_up_ohm));
  }
  for (const bool high : {true, false}) {
    const std::string& code = high ? sketch.code_high : sketch.code_low;
    if (code.empty()) continue;
    out.table("codes", code);
    out.text("module", sketch.module.name);
    out.text("text", sketch.sensor.name + (high ? ", voltage above normal" : ", voltage below normal"));
    out.text("pin", sketch.signal_pin);
    out.number(high ? "above_v" : "below_v", high ? std::max(4.8, 0.5 * (5.0 + most)) : std::min(0.2, 0.5 * least),
               true);
    out.line("needs", "[\"key-on\"]");
  }
  out.table("live", sketch.sensor.name);
  out.text("module", sketch.module.name);
  out.text("pin", sketch.signal_pin);
  out.text("part", sketch.sensor.name);
  if (!sketch.unit.empty()) out.text("unit", sketch.unit);
  out.number("low", sketch.curve.front().first);
  out.number("high", sketch.curve.back().first);
  return {sketch.name,
          out.str(),
          {"battery, key switch, and the module's own fuse and ground stud",
           "1 min to every place; colours and sizes of wires",
           "where the codes' limits are: 4.8 V and 0.2 V, or beyond what the curve reaches"}};
}

}  // namespace halfsplit::formats
