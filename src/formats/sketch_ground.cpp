// SPDX-License-Identifier: Apache-2.0
// A load whose way back is in question: over plugs to a stud, over one metal after another and the straps between them,
// to the battery. Other loads on the same stud tell where to look: they suffer with it or not.
#include <algorithm>

#include "base/number.h"
#include "formats/sketch_circuit_text.h"
#include "formats/sketch_draw.h"

namespace halfsplit::formats {

namespace {

struct GroundSketch {
  std::string name, vehicle;
  double system_volts = 24.0, watt = 60.0, rating_a = 10.0, wire_mm2 = 1.5, metres = 4.0, strap_mm2 = 35.0;
  std::string load_kind;
  SketchedThing load, fuse, button, stud;
  std::vector<SketchedPlug> plugs;
  std::vector<SketchedThing> metals, others;  // the last metal holds the battery's cable
  bool metals_told = false;
};

GroundSketch read_ground(AnswerReader& reader) {
  GroundSketch sketch;
  sketch.load = read_thing(reader, "load", "");
  sketch.load_kind = read_word(reader, "load-kind", {"motor", "lamp", "solenoid", "heater"});
  sketch.watt = reader.number("watt", 60.0, base::Unit::kWatt, 0.1, 10000.0);
  sketch.plugs = read_plugs(reader, 1, 1);
  sketch.stud = read_thing(reader, "ground", "G1");
  sketch.metals = read_things(reader, "metals");
  sketch.metals_told = !sketch.metals.empty();
  if (!sketch.metals_told) sketch.metals = {{reader.fresh_name("chassis"), ""}};
  sketch.others = read_things(reader, "others");
  sketch.fuse = read_thing(reader, "fuse", "F1");
  sketch.rating_a = reader.number("rating", 10.0, base::Unit::kAmpere, 0.1, 500.0);
  sketch.button = read_thing(reader, "switch", "S1");
  sketch.wire_mm2 = reader.number("size", 1.5, base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.strap_mm2 = reader.number("strap-size", 35.0, base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.metres = reader.number("length", 4.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.name = reader.one("name", "Ground of " + sketch.load.name);
  sketch.vehicle = reader.one("vehicle");
  if (sketch.metals.size() > 8 || sketch.others.size() > 24)
    reader.error("sketch.too-many", "metals, others: more than 8 metals or 24 loads",
                 "leave out what is far from the fault");
  return sketch;
}

struct Strap {
  std::string name, from, to;  // its wire and the studs at its ends
  std::string from_metal, to_metal;
};

class GroundWriter {
 public:
  GroundWriter(const GroundSketch& sketch, AnswerReader& names)
      : sketch_(sketch),
        names_(names),
        text_(sketch.metres),
        battery_(names.fresh_name("BAT")),
        minus_(names.fresh_name("G-BAT")),
        splice_(names.fresh_name("S-" + sketch.fuse.name)) {
    for (std::size_t i = 0; i + 1 < sketch.metals.size(); ++i) {
      const std::string &a = sketch.metals[i].name, &b = sketch.metals[i + 1].name;
      const std::string name = names.fresh_name("strap " + a + " to " + b);
      straps_.push_back({name, names.fresh_name(name + ", at " + a), names.fresh_name(name + ", at " + b), a, b});
    }
  }

  Sketched write() {
    text_.head(sketch_.name, sketch_.vehicle, sketch_.system_volts, {"on"});
    text_.setup("on", {sketch_.button.name});
    write_plugs();
    write_parts();
    write_metals();
    text_.places();
    write_runs();
    std::vector<std::string> assumed{"battery and its cables, colours of wires, 1 min to every place",
                                     "all loads hang on one fuse and one switch"};
    if (!sketch_.metals_told) assumed.push_back("the stud sits on the metal that holds the battery's minus cable");
    if (sketch_.others.empty()) assumed.push_back("no other load on the same stud");
    return {sketch_.name, text_.out.str(), assumed};
  }

 private:
  void write_plugs() { text_.plugs(sketch_.plugs, sketch_.load.name, sketch_.stud.name); }

  void load(const SketchedThing& one, const std::string& kind, double watt, bool told) {
    text_.part(one, kind);
    text_.out.number("watt", watt, !told);
  }

  void write_parts() {
    text_.part({battery_, "battery"}, "battery");
    text_.part(sketch_.fuse, "fuse");
    text_.out.number("rating_a", sketch_.rating_a);
    text_.part(sketch_.button, "switch");
    load(sketch_.load, sketch_.load_kind, sketch_.watt, true);
    for (const SketchedThing& one : sketch_.others) load(one, "lamp", 10.0, false);
    text_.out.table("splices", splice_, "feeds the loads");
    text_.out.text("place", text_.place_of(sketch_.button), true);
  }

  void write_metals() {
    for (const SketchedThing& metal : sketch_.metals) text_.frame(metal.name);
    text_.stud(sketch_.stud, sketch_.metals.front().name);
    for (const Strap& strap : straps_) {
      const SketchedThing between{strap.name, ""};
      text_.stud({strap.from, text_.place_of(between)}, strap.from_metal);
      text_.stud({strap.to, text_.place_of(between)}, strap.to_metal);
    }
    text_.stud({minus_, "battery"}, sketch_.metals.back().name);
  }

  void write_runs() {
    SketchText& out = text_.out;
    const std::string size = base::format_number(sketch_.wire_mm2) + "mm2";
    const std::string cable = base::format_number(sketch_.strap_mm2) + "mm2";
    out.section("runs");
    out.text("minus", battery_ + ":- -[BK " + cable + " 1m]-> " + minus_, true);
    out.text("supply",
             battery_ + ":+ -[RD 6mm2 2m]-> " + sketch_.fuse.name + " -[RD 2.5mm2 1m]-> " + sketch_.button.name +
                 " -[RD 2.5mm2 1m]-> " + splice_,
             true);
    out.text("feed",
             splice_ + " -[RD " + size + " " + base::format_significant(sketch_.metres, 3) + "m]-> " +
                 sketch_.load.name + ":1",
             true);
    out.text("ground", text_.path(sketch_.load.name + ":2", sketch_.plugs, 0, sketch_.stud.name, "BN " + size));
    for (const SketchedThing& one : sketch_.others) {
      out.text(toml_key("feed of " + one.name), splice_ + " -[RD " + size + " 2m]-> " + one.name + ":1", true);
      out.text(toml_key("ground of " + one.name), one.name + ":2 -[BN " + size + " 1m]-> " + sketch_.stud.name, true);
    }
    for (const Strap& strap : straps_)
      out.text(toml_key(strap.name), strap.from + " -[BK " + cable + " 0.5m]-> " + strap.to, true);
  }

  const GroundSketch& sketch_;
  AnswerReader& names_;
  CircuitText text_;
  std::string battery_, minus_, splice_;
  std::vector<Strap> straps_;
};

}  // namespace

base::Result<Sketched> draw_ground_path(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  const GroundSketch sketch = read_ground(reader);
  if (!reader.errors().empty()) return reader.errors();
  return GroundWriter(sketch, reader).write();
}

}  // namespace halfsplit::formats
