// SPDX-License-Identifier: Apache-2.0
// The free path: hops as read off a drawing to a whole loom. What the paths leave open is closed as usual: a fuse hangs
// on the battery, a load on a stud, what goes on out of sight is a module whose insides are not known. Lengths nobody
// told are left out, so that they spread widely; the text says of everything else whether it was told.
#include <algorithm>
#include <map>
#include <set>

#include "base/number.h"
#include "formats/loom_text.h"
#include "formats/path_text.h"
#include "formats/sketch_circuit_text.h"
#include "formats/sketch_draw.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kMostPaths = 200, kMostHops = 2000;

struct PathSketch {
  std::string name, vehicle;
  double system_volts = 24.0, wire_mm2 = 1.0;
  std::vector<PathText> paths;
  std::map<std::string, std::string> places;  // of names
};

// All names of what has a place of its own in the loom, by kind.
struct Thing {
  HopKind kind = HopKind::kSplice;
  std::string part_kind, value;
  bool told = false;
  std::set<std::string> used;  // terminals, cavities
};

struct Plug {
  std::string sides[2];
  std::set<std::string> entered[2];  // cavities with a wire, on each side
  std::vector<std::string> cavities;
};

struct Pin {
  std::string cavity;  // "A:14"
  std::string role;    // "input"; empty: not known
};

// Two runs with the link between: FROM and TO as a run writes them.
struct Run {
  std::string name, text;
  bool assumed = false;
};

class PathWriter {
 public:
  PathWriter(const PathSketch& sketch, AnswerReader& reader) : sketch_(sketch), reader_(reader), text_(1.0) {}

  void collect() {
    for (const PathText& path : sketch_.paths)
      for (const PathHop& hop : path.hops) take_name(hop);
    for (const PathText& path : sketch_.paths) name_sides(path);
    for (std::size_t i = 0; i < sketch_.paths.size(); ++i)
      collect_run(sketch_.paths[i], "path-" + std::to_string(i + 1));
    close_plugs();
    close_splices();
    for (const auto& [name, thing] : std::map(things_))
      if (thing.kind == HopKind::kPart) close_part(name, thing);
  }

  Sketched write() {
    text_.head(sketch_.name, sketch_.vehicle, sketch_.system_volts,
               switched_.empty() && !driven_ ? std::vector<std::string>{} : std::vector<std::string>{"on"});
    if (!switched_.empty() || driven_) text_.setup("on", switched_);
    write_plugs();
    write_parts();
    write_modules();
    write_metal();
    text_.places();
    text_.out.section("runs");
    for (const Run& run : runs_) text_.out.text(toml_key(run.name), run.text, run.assumed);
    assumed_.emplace_back("lengths that are not told: they spread widely; 1 min to every place");
    return {sketch_.name, text_.out.str(), assumed_};
  }

 private:
  // "30", "battery" and "BAT" are the one battery; "31", "ground" and "chassis" the one frame.
  [[nodiscard]] std::string name_of(const PathHop& hop) const {
    if (hop.kind == HopKind::kFrame) return "chassis";
    const bool plain = hop.part_kind == "battery" && !hop.name.starts_with("BAT");
    return plain ? "BAT" : hop.name;
  }

  void take_name(const PathHop& hop) {
    const std::string name = name_of(hop);
    const auto [at, fresh] = things_.try_emplace(name);
    Thing& thing = at->second;
    if (fresh) {
      reader_.take_name("path", name);
      thing.kind = hop.kind;
      thing.part_kind = hop.part_kind;
    } else if (hop.kind_told && thing.told && (thing.kind != hop.kind || thing.part_kind != hop.part_kind)) {
      reader_.error("sketch.bad-answer", "path: \"" + name + "\" is said to be two kinds of things",
                    "say the same in both places");
    }
    if (hop.kind_told && !thing.told) {
      thing.kind = hop.kind;
      thing.part_kind = hop.part_kind;
      thing.told = true;
    }
    if (!hop.value.empty()) thing.value = hop.value;
  }

  [[nodiscard]] const Thing& thing_of(const PathHop& hop) const { return things_.at(name_of(hop)); }

  // The sides of plugs: as told, else named for what comes before and behind in the first path through it.
  void name_sides(const PathText& path) {
    for (std::size_t i = 0; i < path.hops.size(); ++i) {
      const PathHop& hop = path.hops[i];
      if (thing_of(hop).kind != HopKind::kPlug) continue;
      const auto [at, fresh] = plugs_.try_emplace(name_of(hop));
      Plug& plug = at->second;
      const std::string before = i == 0 ? "before" : name_of(path.hops[i - 1]);
      const std::string behind = i + 1 == path.hops.size() ? "behind" : name_of(path.hops[i + 1]);
      if (fresh) {
        plug.sides[0] = hop.side.empty() ? before : hop.side;
        plug.sides[1] = behind == plug.sides[0] ? behind + "-2" : behind;
        named_by_neighbour_[at->first] = true;
      } else if (!hop.side.empty() && hop.side != plug.sides[0] && hop.side != plug.sides[1]) {
        if (named_by_neighbour_[at->first])
          plug.sides[1] = hop.side;
        else
          reader_.error("sketch.bad-answer", "path: plug " + at->first + " has a third side, \"" + hop.side + "\"",
                        "it has " + plug.sides[0] + " and " + plug.sides[1]);
        named_by_neighbour_[at->first] = false;
      }
      if (std::find(plug.cavities.begin(), plug.cavities.end(), cavity_of(hop)) == plug.cavities.end())
        plug.cavities.push_back(cavity_of(hop));
    }
  }

  static std::string cavity_of(const PathHop& hop) { return hop.cavity.empty() ? "1" : hop.cavity; }

  // On which side a path comes in.
  [[nodiscard]] std::size_t entry_side(const PathText& path, std::size_t i) const {
    const Plug& plug = plugs_.at(name_of(path.hops[i]));
    if (!path.hops[i].side.empty()) return path.hops[i].side == plug.sides[1] ? 1 : 0;
    const bool from_second = i > 0 && name_of(path.hops[i - 1]) == plug.sides[1];
    const bool to_first = i + 1 < path.hops.size() && name_of(path.hops[i + 1]) == plug.sides[0];
    return from_second || to_first ? 1 : 0;
  }

  [[nodiscard]] std::string link(const std::string& attributes) const {
    const std::string size = base::format_number(sketch_.wire_mm2) + "mm2";
    if (attributes.empty()) return " -[" + size + "]-> ";
    bool sized = attributes.find("mm2") != std::string::npos || attributes.find("AWG") != std::string::npos;
    for (std::size_t from = 0; from < attributes.size() && !sized;) {
      const std::size_t blank = std::min(attributes.find(' ', from), attributes.size());
      const base::Result<base::Quantity> read =
          base::parse_quantity(std::string_view(attributes).substr(from, blank - from));
      sized = read.ok() && read->unit == base::Unit::kOhm;
      from = blank + 1;
    }
    return " -[" + attributes + (sized ? "" : " " + size) + "]-> ";
  }

  void collect_run(const PathText& path, const std::string& name) {
    std::string text;
    for (std::size_t i = 0; i < path.hops.size(); ++i) {
      if (i > 0) text += link(path.links[i - 1]);
      text += hop_text(path, i);
    }
    runs_.push_back({name, text, false});
  }

  std::string hop_text(const PathText& path, std::size_t i) {
    const PathHop& hop = path.hops[i];
    const bool first = i == 0, last = i + 1 == path.hops.size();
    const std::string name = name_of(hop);
    switch (thing_of(hop).kind) {
      case HopKind::kPlug:
        return plug_text(path, i, first, last);
      case HopKind::kModule:
        if (!first && !last)
          reader_.error("sketch.bad-answer", "path: module " + name + " stands in the middle of a path",
                        "a wire ends at a module's pin: begin the next path with it");
        return module_text(path, i, hop);
      case HopKind::kPart:
        return part_text(name, hop, first, last);
      default:
        things_[name].used.insert(std::to_string(things_[name].used.size()));
        if (!first && !last) things_[name].used.insert(std::to_string(things_[name].used.size()));
        return name;
    }
  }

  std::string plug_text(const PathText& path, std::size_t i, bool first, bool last) {
    const std::string name = name_of(path.hops[i]), cavity = cavity_of(path.hops[i]);
    Plug& plug = plugs_[name];
    const std::size_t in = entry_side(path, i);
    // Alone at an end a told side is the one the wire is on.
    const std::size_t out = first && !path.hops[i].side.empty() ? in : 1 - in;
    if (!first) plug.entered[in].insert(cavity);
    if (!last) plug.entered[out].insert(cavity);
    return name + ":" + cavity + "@" + plug.sides[first ? out : in];
  }

  std::string module_text(const PathText& path, std::size_t i, const PathHop& hop) {
    std::vector<Pin>& pins = modules_[hop.name];
    std::string cavity = hop.cavity;
    if (cavity.empty()) cavity = std::to_string(pins.size() + 1);
    const std::string key = hop.plug.empty() ? cavity : hop.plug + ":" + cavity;
    auto pin = std::find_if(pins.begin(), pins.end(), [&](const Pin& one) { return one.cavity == key; });
    if (pin == pins.end()) pin = pins.insert(pins.end(), {key, ""});
    if (hop.kind_told && hop.word != "module") pin->role = hop.word;
    if (pin->role.empty() && i == 0 && feeds_a_load(path)) {
      pin->role = "output";
      assumed_.push_back(hop.name + ":" + key + " is an output that feeds what its path leads to");
    }
    driven_ = driven_ || pin->role == "output";
    return hop.plug.empty() ? hop.name + ":" + cavity : hop.name + "." + hop.plug + ":" + cavity;
  }

  [[nodiscard]] bool feeds_a_load(const PathText& path) const {
    return std::any_of(path.hops.begin() + 1, path.hops.end(), [&](const PathHop& hop) {
      return is_load(thing_of(hop).part_kind) && (hop.cavity.empty() || hop.cavity == "1");
    });
  }

  std::string part_text(const std::string& name, const PathHop& hop, bool first, bool last) {
    Thing& thing = things_[name];
    const PartEnds ends = part_ends(thing.part_kind);
    if (thing.part_kind == "battery") {
      if (!first && !last)
        reader_.error("sketch.bad-answer", "path: the battery stands in the middle of a path",
                      "begin a path with it, or end one");
      const std::string pole = hop.cavity.empty() ? (first ? "+" : "-") : hop.cavity;
      thing.used.insert(pole);
      return name + ":" + pole;
    }
    if (hop.cavity.empty()) {
      if (!first) thing.used.emplace(ends.in);
      if (!last) thing.used.emplace(ends.out);
      return first || last ? name + ":" + std::string(first ? ends.out : ends.in)
                           : name + ":" + std::string(ends.in) + "/" + std::string(ends.out);
    }
    const std::size_t slash = hop.cavity.find('/');
    thing.used.insert(hop.cavity.substr(0, slash));
    if (slash != std::string::npos) thing.used.insert(hop.cavity.substr(slash + 1));
    return name + ":" + hop.cavity;
  }

  void add(const std::string& name, const std::string& from, const std::string& to) {
    runs_.push_back({reader_.fresh_name(name), from + link("") + to, true});
  }

  // A pin of a module that stands for what is out of sight.
  std::string out_of_sight(const std::string& name, const std::string& pin) {
    const auto [at, fresh] = beyond_.try_emplace(name);
    if (fresh) {
      at->second = reader_.fresh_name(name);
      assumed_.push_back("what is " + name + ": a module whose insides are not known");
    }
    modules_[at->second].push_back({pin, ""});
    return at->second + ":" + pin;
  }

  void close_plugs() {
    for (auto& [name, plug] : plugs_)
      for (const std::string& cavity : plug.cavities)
        for (const std::size_t side : {0U, 1U})
          if (!plug.entered[side].contains(cavity)) {
            const std::string beyond = out_of_sight(side == 0 ? "before " + name : "behind " + name, cavity);
            add("beyond " + name + " " + cavity, name + ":" + cavity + "@" + plug.sides[side], beyond);
          }
  }

  void close_splices() {
    for (const auto& [name, thing] : things_)
      if (thing.kind == HopKind::kSplice && thing.used.size() < 2)
        add("beyond " + name, name, out_of_sight("behind " + name, "1"));
  }

  const std::string& battery() {
    if (battery_.empty()) {
      for (const auto& [name, thing] : things_)
        if (thing.part_kind == "battery") battery_ = name;
      if (battery_.empty()) {
        battery_ = reader_.fresh_name("BAT");
        things_[battery_] = {HopKind::kPart, "battery", "", false, {}};
        assumed_.emplace_back("a battery that feeds it");
      }
    }
    return battery_;
  }

  std::string ground_of(const std::string& name) {
    const std::string stud = reader_.fresh_name("G-" + name);
    things_[stud] = {HopKind::kStud, "", "", false, {}};
    sits_with_[stud] = name;
    assumed_.push_back(name + " goes to ground at a stud beside it");
    return stud;
  }

  void close_part(const std::string& name, const Thing& thing) {
    const PartEnds ends = part_ends(thing.part_kind);
    const std::string in(ends.in), out(ends.out);
    if (thing.part_kind == "switch") switched_.push_back(name);
    if (thing.part_kind == "battery") return;
    const bool fed = thing.used.contains(in), left = thing.used.contains(out);
    if (thing.part_kind == "relay") close_coil(name, thing);
    if (!fed) add("feed of " + name, battery() + ":+", name + ":" + in);
    if (left) return;
    if (thing.part_kind == "sender" || is_load(thing.part_kind) || thing.part_kind == "diode")
      add("ground of " + name, name + ":" + out, ground_of(name));
    else
      add("beyond " + name, name + ":" + out, out_of_sight("behind " + name, "1"));
  }

  // A coil nobody drew is driven by a module that nobody drew either.
  void close_coil(const std::string& name, const Thing& thing) {
    if (!thing.used.contains("86")) {
      const std::string driver = reader_.fresh_name("driver of " + name);
      modules_[driver].push_back({"1", "output"});
      sits_with_[driver] = name;
      driven_ = true;
      add("coil of " + name, driver + ":1", name + ":86");
      assumed_.push_back("the coil of " + name + " is driven by an output out of sight");
    }
    if (!thing.used.contains("85")) add("coil ground of " + name, name + ":85", ground_of(name));
  }

  [[nodiscard]] SketchedThing placed(const std::string& name) {
    if (const auto told = sketch_.places.find(name); told != sketch_.places.end()) return {name, told->second};
    if (const auto with = sits_with_.find(name); with != sits_with_.end())
      return {name, text_.place_of(placed(with->second))};
    return {name, ""};
  }

  void place_line(const std::string& name) {
    text_.out.text("place", text_.place_of(placed(name)), !sketch_.places.contains(name));
  }

  void write_plugs() {
    for (const auto& [name, plug] : plugs_) {
      text_.out.table("connectors", name);
      text_.out.line("sides", toml_list({plug.sides[0], plug.sides[1]}), true);
      place_line(name);
    }
  }

  void write_parts() {
    const bool grounded = std::any_of(things_.begin(), things_.end(), [](const auto& one) {
      return one.second.part_kind == "battery" && !one.second.used.contains("-");
    });
    if (grounded) minus_ = reader_.fresh_name("G-BAT");
    for (const auto& [name, thing] : things_) {
      if (thing.kind != HopKind::kPart) continue;
      text_.out.table("parts", name);
      text_.out.text("kind", thing.part_kind == "led" ? "lamp" : thing.part_kind, !thing.told);
      place_line(name);
      write_value(name, thing);
      if (thing.part_kind == "battery" && !thing.used.contains("-"))
        runs_.push_back({reader_.fresh_name("minus of " + name), name + ":- -[BK 25mm2]-> " + minus_, true});
    }
  }

  // A number as told, in that unit or none; else the usual one.
  double value_of(const std::string& name, const Thing& thing, base::Unit unit, double usual, double low, double high) {
    return thing.value.empty() ? usual : reader_.number_of("path, " + name, thing.value, usual, unit, low, high);
  }

  void write_value(const std::string& name, const Thing& thing) {
    SketchText& out = text_.out;
    const bool assumed = thing.value.empty();
    const std::string& kind = thing.part_kind;
    if (kind == "fuse") out.number("rating_a", value_of(name, thing, base::Unit::kAmpere, 10.0, 0.1, 500.0), assumed);
    if (kind == "relay")
      out.number("coil_ohm",
                 value_of(name, thing, base::Unit::kOhm, sketch_.system_volts > 18.0 ? 300.0 : 85.0, 1.0, 1e6),
                 assumed);
    if (kind == "lamp") out.number("watt", value_of(name, thing, base::Unit::kWatt, 21.0, 0.1, 10000.0), assumed);
    if (kind == "led") {
      out.number("watt", value_of(name, thing, base::Unit::kWatt, 3.0, 0.1, 10000.0), assumed);
      out.line("led", "true");
    }
    if (kind == "motor" || kind == "solenoid" || kind == "heater") {
      out.number("watt", value_of(name, thing, base::Unit::kWatt, kind == "solenoid" ? 20.0 : 60.0, 0.1, 10000.0),
                 assumed);
      if (assumed) out.number("tolerance_percent", 60.0, true);
    }
    if (kind == "resistor") {
      out.number("ohm", value_of(name, thing, base::Unit::kOhm, 1000.0, 0.0001, 1e9), assumed);
      if (assumed) out.number("tolerance_percent", 90.0, true);
    }
    if (kind == "sender") write_sender(name, thing);
  }

  // At a third of its scale it has the ohms told; not told, anything from a tenth to ten times 2 kohm.
  void write_sender(const std::string& name, const Thing& thing) {
    const bool assumed = thing.value.empty();
    const double ohm = value_of(name, thing, base::Unit::kOhm, 2000.0, 0.01, 1e8);
    text_.out.line("curve",
                   "[[0, " + base::format_number(0.5 * ohm) + "], [30, " + base::format_number(ohm) + "], [100, " +
                       base::format_number(2.0 * ohm) + "]]",
                   true);
    text_.out.number("at", 30.0, true);
    text_.out.number("at_tolerance", assumed ? 30.0 : 3.0, true);
    if (assumed) text_.out.number("tolerance_percent", 90.0, true);
  }

  static std::string role_text(const std::string& role) {
    if (role == "input") return "{ role = \"input\", pull_up_ohm = \"2k2\" }";
    if (role == "output") return "{ role = \"high-side\", on_with = [\"on\"] }";
    if (role == "supply") return "{ role = \"supply\", draw_a = 0.3 }";
    return "\"" + (role.empty() ? "unknown" : role) + "\"";
  }

  void write_modules() {
    for (const auto& [name, pins] : modules_) {
      text_.out.table("modules", name, "what is behind its pins is as told, else not known");
      place_line(name);
      text_.out.text("frame", "chassis", true);
      text_.out.section("modules." + toml_key(name) + ".pins");
      for (const Pin& pin : pins) text_.out.line(toml_key(pin.cavity), role_text(pin.role), pin.role.empty());
    }
  }

  void write_metal() {
    text_.frame("chassis");
    for (const auto& [name, thing] : things_) {
      if (thing.kind != HopKind::kStud && thing.kind != HopKind::kSplice) continue;
      text_.out.table(thing.kind == HopKind::kStud ? "studs" : "splices", name);
      place_line(name);
    }
    if (!minus_.empty()) text_.stud({minus_, text_.place_of(placed(battery()))});
  }

  const PathSketch& sketch_;
  AnswerReader& reader_;
  CircuitText text_;
  std::map<std::string, Thing> things_;
  std::map<std::string, Plug> plugs_;
  std::map<std::string, std::vector<Pin>> modules_;
  std::map<std::string, bool> named_by_neighbour_;
  std::map<std::string, std::string> beyond_, sits_with_;
  std::vector<std::string> switched_, assumed_;
  std::string battery_, minus_;
  bool driven_ = false;
  std::vector<Run> runs_;
};

void say(AnswerReader& reader, const PathProblem& problem, std::string_view path) {
  const std::string place = trim(path.substr(problem.offset, 24));
  reader.error("sketch.bad-answer", "path: " + problem.message + (place.empty() ? "" : ", at \"" + place + "\""),
               problem.hint);
}

void read_paths(AnswerReader& reader, const SketchAnswers& answers, PathSketch& sketch) {
  std::size_t hops = 0;
  const auto told = answers.find("path");
  if (told == answers.end()) return;
  for (const std::string& answer : told->second)
    for (const std::string& text : split_paths(answer)) {
      PathText path = parse_path(text);
      for (const PathProblem& problem : path.problems) say(reader, problem, text);
      if (path.ends_in_link) path.links.pop_back();
      if (path.hops.size() < 2 && path.problems.empty())
        reader.error("sketch.bad-answer", "path: \"" + text + "\" is one hop and no way",
                     "name what the wire goes to: F3 -> J4:12 -> E1");
      hops += path.hops.size();
      sketch.paths.push_back(std::move(path));
    }
  if (sketch.paths.size() > kMostPaths || hops > kMostHops)
    reader.error("sketch.too-many",
                 "path: more than " + std::to_string(kMostPaths) + " paths or " + std::to_string(kMostHops) + " hops",
                 "leave out what is far from the fault");
}

// mm2 that common practice puts behind a fuse (as odd.fuse-above-wire has it), for wires that tell none.
double usual_size(const PathSketch& sketch) {
  constexpr std::pair<double, double> kSizes[] = {{15.0, 1.0}, {20.0, 1.5},  {30.0, 2.5},   {40.0, 4.0},
                                                  {60.0, 6.0}, {80.0, 10.0}, {150.0, 25.0}, {300.0, 70.0}};
  double rating = 0.0;
  for (const PathText& path : sketch.paths)
    for (const PathHop& hop : path.hops)
      if (hop.part_kind == "fuse")
        if (const base::Result<base::Quantity> told = base::parse_quantity(hop.value); told && !told->over_range)
          rating = std::max(rating, told->value);
  for (const auto& [most, size] : kSizes)
    if (rating <= most) return size;
  return 95.0;
}

void read_path_places(AnswerReader& reader, PathSketch& sketch) {
  for (const std::string& text : reader.list("places")) {
    const SketchedThing thing = split_place(reader, "places", text);
    if (thing.name.empty() || thing.place.empty())
      reader.error("sketch.bad-answer", "places: \"" + text + "\" does not say what is where",
                   "for example: J4 @ bulkhead");
    sketch.places[thing.name] = thing.place;
  }
}

// The reader of looms has the last word on colours, sizes and names; its words, without the place in a text nobody
// sees.
void check_reads(AnswerReader& reader, const std::string& text) {
  const base::Result<circuit::Loom> loom =
      read_loom("sketch.loom.toml", [&](const std::string&) -> base::Result<std::string> { return text; });
  if (loom) return;
  for (const base::Diagnostic& said : loom.diagnostics())
    if (said.severity == base::Severity::kError) reader.error("sketch.bad-answer", "path: " + said.message, said.hint);
}

}  // namespace

base::Result<Sketched> draw_path(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  PathSketch sketch;
  read_paths(reader, answers, sketch);
  read_path_places(reader, sketch);
  sketch.wire_mm2 = reader.number("size", usual_size(sketch), base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  if (sketch.paths.empty())
    return base::make_error("sketch.missing-answer", "path: there is no path", "for example: F3 -> S1 -> J4:3 -> E1");
  const PathHop &from = sketch.paths.front().hops.front(), &to = sketch.paths.front().hops.back();
  sketch.name = reader.one("name", "Path " + from.name + " to " + to.name);
  PathWriter writer(sketch, reader);
  writer.collect();
  if (!reader.errors().empty()) return reader.errors();
  Sketched sketched = writer.write();
  if (reader.errors().empty()) check_reads(reader, sketched.text);
  if (!reader.errors().empty()) return reader.errors();
  return sketched;
}

}  // namespace halfsplit::formats
