// SPDX-License-Identifier: Apache-2.0
// Typed answers to loom text. What is ours and not told: battery, key, a fuse and a ground stud for each node, wire
// sizes, names of cavities, places (common practice; every such line is marked).
#include "formats/sketch_bus.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "base/number.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_text.h"

namespace halfsplit::formats {

namespace {

constexpr double kTerminatorWire_m = 0.2;

// One wire of a bus: what it is called, its cavity at modules, its colour, its terminal at a terminator.
struct Core {
  std::string word, cavity, colour, terminal;
};

std::vector<Core> cores_of(const SketchBackbone& backbone) {
  if (backbone.kind == "lin") return {{"wire", "W", "BU", "1"}};
  return {{"high", "H", "YE", "1"}, {"low", "L", "GN", "2"}};
}

// A hop of the backbone and the metres of wire to the next one.
struct Hop {
  std::string point;
  double to_next_m = 0.0;
};

class BusWriter {
 public:
  BusWriter(const BusSketch& sketch, AnswerReader& names) : sketch_(sketch), names_(names) {}

  Sketched write() {
    take_names();
    write_head();
    write_places();
    write_connectors();
    write_supply();
    for (const SketchNode& node : nodes_) write_module(node);
    write_runs();
    for (const SketchBackbone& backbone : sketch_.backbones) write_bus(backbone);
    write_codes();
    list_assumed();
    return {sketch_.name, out_.str(), assumed_};
  }

 private:
  struct Own {
    std::string stud, fuse, place;
  };

  // A seat that wires branch off from: everywhere but at ends that end in the module itself.
  [[nodiscard]] bool has_splice(const SketchBackbone& backbone, std::size_t i) const {
    const bool first = i == 0, last = i + 1 == backbone.nodes.size();
    if (socket_at(backbone, i) || (!first && !last)) return true;
    return backbone.ends[first ? 0 : 1] == SketchEnd::kPlug;
  }

  [[nodiscard]] bool socket_at(const SketchBackbone& backbone, std::size_t i) const {
    return sketch_.socket && &backbone == sketch_.backbones.data() && backbone.nodes[i].name == sketch_.socket->at;
  }

  [[nodiscard]] std::size_t number_of(const SketchBackbone& backbone) const {
    return static_cast<std::size_t>(&backbone - sketch_.backbones.data());
  }

  void take_names() {
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (const SketchNode& node : backbone.nodes)
        if (own_.find(node.name) == own_.end()) {
          nodes_.push_back(node);
          own_[node.name] = {names_.fresh_name("G-" + node.name), names_.fresh_name("F-" + node.name),
                             node.place.empty() ? "at " + node.name : node.place};
        }
    frame_ = names_.fresh_name("chassis");
    battery_ = names_.fresh_name("BAT");
    key_ = names_.fresh_name("S1");
    battery_stud_ = names_.fresh_name("G-BAT");
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (std::size_t i = 0; i < backbone.nodes.size(); ++i)
        for (const Core& core : cores_of(backbone))
          if (has_splice(backbone, i))
            splices_[{number_of(backbone), i, core.word}] =
                names_.fresh_name("S-" + backbone.nodes[i].name + "-" + core.cavity);
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (std::size_t end = 0; end < 2; ++end)
        if (backbone.ends[end] == SketchEnd::kPlug)
          terminators_[{number_of(backbone), end}] = names_.fresh_name("R" + std::to_string(terminators_.size() + 1));
  }

  void write_head() {
    out_.remark("Made by halfsplit sketch. Lines that end in \"assumed\" were not told: put in what the drawing says.");
    out_.line("loom", "1");
    out_.text("name", sketch_.name);
    if (!sketch_.vehicle.empty()) out_.text("vehicle", sketch_.vehicle);
    out_.text("note", "Sketched from answers; what is marked as assumed was not told.");
    out_.number("system_volts", sketch_.system_volts);
    out_.line("in_use", "[\"key-on\"]");
    out_.table("setups", "key-on");
    out_.number("do", 0.2, true);
    out_.number("undo", 0.1, true);
    out_.line("sets", "{ " + toml_key(key_) + " = \"closed\" }");
  }

  void add_place(const std::string& name) {
    if (std::find(places_.begin(), places_.end(), name) != places_.end()) return;
    places_.push_back(name);
    out_.table("places", name);
    out_.number("minutes", 1.0, true);
  }

  void write_places() {
    add_place("battery");
    add_place("fuses");
    for (const SketchNode& node : nodes_) add_place(own_.at(node.name).place);
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (const SketchPlug& plug : backbone.plugs) add_place("at " + plug.name);
    out_.section("frames");
    out_.line(toml_key(frame_), "{}");
    out_.section("studs");
    out_.line(toml_key(battery_stud_), "{ place = \"battery\" }", true);
    for (const SketchNode& node : nodes_)
      out_.line(toml_key(own_.at(node.name).stud), "{ place = " + quoted(own_.at(node.name).place) + " }", true);
  }

  void write_connectors() {
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (const SketchPlug& plug : backbone.plugs) {
        out_.table("connectors", plug.name);
        out_.line("sides", toml_list({backbone.nodes[plug.after].name, backbone.nodes[plug.after + 1].name}));
        out_.text("place", "at " + plug.name, true);
        out_.line("rows", "[" +
                              toml_list(plug.low.empty() ? std::vector<std::string>{plug.high}
                                                         : std::vector<std::string>{plug.high, plug.low}) +
                              "]");
      }
    if (sketch_.socket) {
      const SketchSocket& socket = *sketch_.socket;
      out_.table("connectors", socket.name, "the reader's socket, used from its front");
      out_.line("sides", "[\"loom\", \"reader\"]");
      out_.text("place", own_.at(socket.at).place, true);
      out_.line("pluggable", "false");
      out_.line("rows", "[" + toml_list({socket.high, socket.low}) + "]");
    }
    if (splices_.empty()) return;
    out_.section("splices");
    for (const auto& [key, name] : splices_) {
      const auto& [bus, i, word] = key;
      const std::string& place = own_.at(sketch_.backbones[bus].nodes[i].name).place;
      out_.line(toml_key(name), "{ place = " + quoted(place) + ", probe = false }", true);
    }
  }

  static std::string quoted(const std::string& text) {
    const std::string list = toml_list({text});
    return list.substr(1, list.size() - 2);
  }

  void write_supply() {
    out_.table("parts", battery_);
    out_.text("kind", "battery");
    out_.text("place", "battery", true);
    out_.table("parts", key_, "key switch");
    out_.text("kind", "switch");
    out_.text("place", "fuses", true);
    out_.line("plug", "false");
    for (const SketchNode& node : nodes_) {
      out_.table("parts", own_.at(node.name).fuse, "of " + node.name);
      out_.text("kind", "fuse");
      out_.number("rating_a", 10.0, true);
      out_.text("place", "fuses", true);
    }
    for (const auto& [at, name] : terminators_) {
      const SketchBackbone& backbone = sketch_.backbones[at.first];
      out_.table("parts", name, "terminator");
      out_.text("kind", "terminator");
      out_.text("place", own_.at((at.second == 0 ? backbone.nodes.front() : backbone.nodes.back()).name).place, true);
    }
  }

  // "H" of the only bus of a module; "H2" where a gateway has the second one.
  [[nodiscard]] static std::string cavity_of(const Core& core, std::size_t bus, bool gateway) {
    return core.cavity + (gateway && bus == 1 ? "2" : "");
  }

  void write_module(const SketchNode& node) {
    out_.table("modules", node.name);
    out_.text("place", own_.at(node.name).place, node.place.empty());
    const bool gateway = node.name == sketch_.gateway;
    if (gateway) out_.line("gateway", toml_list({sketch_.backbones[0].name, sketch_.backbones[1].name}));
    std::string inside;
    for (const SketchBackbone& backbone : sketch_.backbones) {
      const std::vector<Core> cores = cores_of(backbone);
      const std::size_t bus = number_of(backbone);
      const bool here[2] = {backbone.nodes.front().name == node.name, backbone.nodes.back().name == node.name};
      for (std::size_t end = 0; end < 2; ++end)
        if (here[end] && backbone.ends[end] == SketchEnd::kInside && cores.size() == 2)
          inside += std::string(inside.empty() ? "" : ", ") + "{ kind = \"terminator\", pins = " +
                    toml_list({cavity_of(cores[0], bus, gateway), cavity_of(cores[1], bus, gateway)}) + " }";
    }
    if (!inside.empty()) out_.line("inside", "[" + inside + "]", !sketch_.backbones.front().ends_told);
    out_.section("modules." + toml_key(node.name) + ".pins");
    out_.line("\"+\"", "{ role = \"supply\", draw_a = 0.3 }", true);
    out_.line("\"-\"", "\"ground\"");
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (std::size_t i = 0; i < backbone.nodes.size(); ++i)
        if (backbone.nodes[i].name == node.name) write_bus_pins(backbone, i, gateway);
  }

  void write_bus_pins(const SketchBackbone& backbone, std::size_t i, bool gateway) {
    const std::vector<Core> cores = cores_of(backbone);
    for (const Core& core : cores) {
      std::string value =
          "{ role = \"" + (cores.size() == 1 ? "bus-wire" : "can-" + core.word) + "\", bus = " + quoted(backbone.name);
      if (backbone.kind == "lin" && i == 0) value += ", commander = true";
      out_.line(toml_key(cavity_of(core, number_of(backbone), gateway)), value + " }");
    }
  }

  [[nodiscard]] std::vector<Hop> hops_of(const SketchBackbone& backbone, const Core& core) const {
    const std::size_t bus = number_of(backbone), count = backbone.nodes.size();
    std::vector<Hop> hops;
    for (std::size_t i = 0; i < count; ++i) {
      const std::string pin = pin_of(backbone, i, core);
      const bool first = i == 0, last = i + 1 == count;
      const bool own = (first || last) && backbone.ends[first ? 0 : 1] != SketchEnd::kPlug;
      const std::string beyond = own             ? pin
                                 : first || last ? terminators_.at({bus, first ? 0U : 1U}) + ":" + core.terminal
                                                 : "";
      const double beyond_m = own ? sketch_.stub_m : kTerminatorWire_m;
      if (!has_splice(backbone, i)) {
        hops.push_back({pin});
      } else {
        if (first) hops.push_back({beyond, beyond_m});
        hops.push_back({splices_.at({bus, i, core.word})});
        if (last) {
          hops.back().to_next_m = beyond_m;
          hops.push_back({beyond});
        }
      }
      if (!last) add_stretch(backbone, i, core, hops);
    }
    return hops;
  }

  // From node i to the next, through the plugs between, in equal parts.
  static void add_stretch(const SketchBackbone& backbone, std::size_t i, const Core& core, std::vector<Hop>& hops) {
    const auto between = std::count_if(backbone.plugs.begin(), backbone.plugs.end(),
                                       [&](const SketchPlug& plug) { return plug.after == i; });
    const double part = backbone.stretch_m[i] / static_cast<double>(between + 1);
    hops.back().to_next_m = part;
    for (const SketchPlug& plug : backbone.plugs)
      if (plug.after == i) hops.push_back({plug.name + ":" + (core.word == "low" ? plug.low : plug.high), part});
  }

  [[nodiscard]] std::string pin_of(const SketchBackbone& backbone, std::size_t i, const Core& core) const {
    const std::string& name = backbone.nodes[i].name;
    return name + ":" + cavity_of(core, number_of(backbone), name == sketch_.gateway);
  }

  [[nodiscard]] static std::string link(const Core& core, double metres, const std::string& pair) {
    const std::string twisted = core.word == "wire" ? "" : " pair=" + pair;
    return " -[" + core.colour + " 0.5mm2 " + base::format_significant(metres, 4) + "m" + twisted + "]-> ";
  }

  [[nodiscard]] std::string run_key(const std::string& wanted) { return toml_key(names_.fresh_name(wanted)); }

  void write_runs() {
    out_.section("runs");
    out_.text("plus", battery_ + ":+ -[RD 16mm2 1m]-> " + key_, true);
    out_.text("minus", battery_ + ":- -[BK 25mm2 1m]-> " + battery_stud_, true);
    for (const SketchNode& node : nodes_) {
      const Own& own = own_.at(node.name);
      out_.text(run_key("feed-" + node.name),
                key_ + ":2 -[RD 1.5mm2 1m]-> " + own.fuse + " -[RD 1mm2 3m]-> " + node.name + ":+", true);
      out_.text(run_key("ground-" + node.name), node.name + ":- -[BN 1mm2 1m]-> " + own.stud, true);
    }
    for (const SketchBackbone& backbone : sketch_.backbones)
      for (const Core& core : cores_of(backbone)) write_bus_runs(backbone, core);
  }

  void write_bus_runs(const SketchBackbone& backbone, const Core& core) {
    const std::string bus = std::to_string(number_of(backbone) + 1);
    const std::vector<Hop> hops = hops_of(backbone, core);
    std::string run = hops.front().point;
    for (std::size_t i = 1; i < hops.size(); ++i)
      run += link(core, hops[i - 1].to_next_m, bus + "-" + std::to_string(i)) + hops[i].point;
    out_.text(run_key(backbone.name + "-" + core.word), run, !backbone.stretch_told);
    for (std::size_t i = 0; i < backbone.nodes.size(); ++i) {
      if (!has_splice(backbone, i)) continue;
      const std::string& splice = splices_.at({number_of(backbone), i, core.word});
      const bool end = i == 0 || i + 1 == backbone.nodes.size();
      const bool through = end && backbone.ends[i == 0 ? 0 : 1] != SketchEnd::kPlug;
      if (!through)
        out_.text(
            run_key("stub-" + backbone.nodes[i].name + "-" + core.word),
            splice + link(core, sketch_.stub_m, bus + "-stub-" + std::to_string(i + 1)) + pin_of(backbone, i, core),
            true);
      if (socket_at(backbone, i))
        out_.text(run_key("socket-" + core.word),
                  splice + link(core, 1.0, bus + "-socket") + sketch_.socket->name + ":" +
                      (core.word == "low" ? sketch_.socket->low : sketch_.socket->high) + "@loom",
                  true);
    }
  }

  void write_bus(const SketchBackbone& backbone) {
    out_.table("buses", backbone.name);
    if (backbone.kind != "can") out_.text("kind", backbone.kind);
    out_.number("bit_rate", backbone.bit_rate, !backbone.bit_rate_told);
    if (sketch_.socket && &backbone == sketch_.backbones.data()) {
      const SketchSocket& socket = *sketch_.socket;
      out_.line("reader", toml_list({socket.name + ":" + socket.high, socket.name + ":" + socket.low}));
    }
  }

  void write_codes() {
    for (const SketchCode& code : sketch_.codes) {
      out_.table("codes", code.name);
      out_.text("module", code.module);
      out_.text("text", "no messages from " + code.lost);
      out_.text("lost", code.lost);
      out_.line("needs", "[\"key-on\"]");
    }
  }

  void list_assumed() {
    assumed_.push_back("battery, key switch, and for each node a 10 A fuse and a ground stud of its own");
    const bool placed = std::all_of(nodes_.begin(), nodes_.end(), [](const SketchNode& n) { return !n.place.empty(); });
    assumed_.push_back(placed ? "1 min to every place, and nothing to raise or take off first"
                              : "a place for each node that told none, 1 min away, and nothing to raise or take off");
    for (const SketchBackbone& backbone : sketch_.backbones) {
      if (!backbone.stretch_told)
        assumed_.push_back(backbone.name + ": " + base::format_number(backbone.stretch_m.front()) +
                           " m from node to node");
      if (!backbone.bit_rate_told)
        assumed_.push_back(backbone.name + ": " + base::format_number(backbone.bit_rate) + " kbit/s");
      if (!backbone.ends_told && backbone.kind == "can")
        assumed_.push_back(backbone.name + ": terminators inside " + backbone.nodes.front().name + " and " +
                           backbone.nodes.back().name);
    }
    assumed_.push_back("names of cavities at the nodes, colours and sizes of wires, " +
                       base::format_number(sketch_.stub_m) + " m from the backbone to a node");
    if (!sketch_.socket) assumed_.push_back("the reader sits at " + nodes_.front().name);
    if (sketch_.codes.empty()) assumed_.push_back("no codes: put in those your reader shows for lost nodes");
  }

  const BusSketch& sketch_;
  AnswerReader& names_;
  SketchText out_;
  std::vector<std::string> assumed_;
  std::vector<SketchNode> nodes_;  // each once
  std::map<std::string, Own> own_;
  std::map<std::tuple<std::size_t, std::size_t, std::string>, std::string> splices_;  // bus, position, core
  std::map<std::pair<std::size_t, std::size_t>, std::string> terminators_;            // bus, end
  std::vector<std::string> places_;
  std::string frame_, battery_, key_, battery_stud_;
};

}  // namespace

Sketched write_bus_sketch(const BusSketch& sketch, AnswerReader& names) { return BusWriter(sketch, names).write(); }

}  // namespace halfsplit::formats
