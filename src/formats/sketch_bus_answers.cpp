// SPDX-License-Identifier: Apache-2.0
// Answers as they are typed to a BusSketch: "VCU @ cab wall", "J7:3/4 between CCU and BC1", "X9:C/D at CCU",
// "SPN 520301 FMI 9 in VCU lost BC1".
#include <algorithm>

#include "base/nearest.h"
#include "base/number.h"
#include "circuit/code_names.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_bus.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kMostNodes = 64;

// The names of the answers of one backbone; the second one's begin with "beyond-".
struct Asked {
  std::string nodes, bit_rate, lengths, terminators;
};

std::vector<std::string> names_of(const SketchBackbone& backbone) {
  std::vector<std::string> names;
  for (const SketchNode& node : backbone.nodes) names.push_back(node.name);
  return names;
}

void read_nodes(AnswerReader& reader, const std::string& question, SketchBackbone& backbone) {
  for (const std::string& text : reader.list(question)) {
    const std::size_t at = text.find('@');
    SketchNode node{trim(std::string_view(text).substr(0, at)),
                    at == std::string::npos ? "" : trim(std::string_view(text).substr(at + 1))};
    if (node.place.find_first_of("@[]></\\\"':.") != std::string::npos)
      reader.error("sketch.bad-name", question + ": \"" + node.place + "\" cannot be the name of a place",
                   "none of . : @ [ ] > < / \\ \" '");
    if (reader.take_name(question, node.name)) backbone.nodes.push_back(std::move(node));
  }
}

void read_stretches(AnswerReader& reader, const std::string& question, SketchBackbone& backbone, double usual_m) {
  const std::size_t stretches = backbone.nodes.size() - 1;
  std::vector<double> metres;
  for (const std::string& text : reader.list(question))
    metres.push_back(reader.number_of(question, text, usual_m, base::Unit::kMetre, 0.01, 1000.0));
  backbone.stretch_told = !metres.empty();
  if (metres.empty()) metres = {usual_m};
  if (metres.size() != 1 && metres.size() != stretches)
    reader.error("sketch.bad-answer",
                 question + ": " + std::to_string(metres.size()) + " lengths for " + std::to_string(stretches) +
                     " stretches between " + std::to_string(backbone.nodes.size()) + " nodes",
                 "give one for all, or one for each stretch in order");
  backbone.stretch_m = metres.size() == stretches ? metres : std::vector<double>(stretches, metres.front());
}

void read_ends(AnswerReader& reader, const std::string& question, SketchBackbone& backbone) {
  const std::vector<std::string> words = reader.list(question);
  backbone.ends_told = !words.empty();
  if (words.size() > 2)
    reader.error("sketch.bad-answer", question + ": a backbone has two ends, not " + std::to_string(words.size()),
                 "one word for both, or one for each end");
  for (std::size_t end = 0; end < 2 && !words.empty(); ++end) {
    const std::string& word = words[std::min(end, words.size() - 1)];
    if (word == "inside" || word == "plug" || word == "none")
      backbone.ends[end] = word == "inside" ? SketchEnd::kInside : word == "plug" ? SketchEnd::kPlug : SketchEnd::kNone;
    else if (end < words.size())
      reader.error("sketch.bad-answer", question + ": \"" + word + "\" is not where a terminator is",
                   "say inside (in the end node), plug (a part with a plug) or none");
  }
}

// Everything of one backbone but its plugs; `backbone` may have its first node already.
void read_backbone(AnswerReader& reader, const Asked& asked, SketchBackbone& backbone, double usual_m) {
  read_nodes(reader, asked.nodes, backbone);
  if (backbone.nodes.size() > kMostNodes)
    reader.error("sketch.too-many", asked.nodes + ": more than " + std::to_string(kMostNodes) + " nodes",
                 "leave out those that have nothing to do with the fault");
  if (backbone.nodes.size() < 2) {
    if (reader.errors().empty())
      reader.error("sketch.too-few-nodes", asked.nodes + ": a bus has at least two nodes",
                   "name them in order along the backbone, with commas");
    return;
  }
  backbone.bit_rate_told = reader.told(asked.bit_rate);
  backbone.bit_rate = reader.number(asked.bit_rate, backbone.bit_rate, base::Unit::kNone, 1.0, 1000.0);
  read_stretches(reader, asked.lengths, backbone, usual_m);
  if (!asked.terminators.empty()) read_ends(reader, asked.terminators, backbone);
}

// "J7:3/4" -> J7, 3, 4; "J7" has cavities H and L. One-wire buses: "J7:3".
bool read_cavities(AnswerReader& reader, const std::string& question, const std::string& text, bool two_wires,
                   std::string& name, std::string& high, std::string& low) {
  const std::size_t colon = text.find(':');
  name = trim(std::string_view(text).substr(0, colon));
  high = two_wires ? "H" : "W";
  low = two_wires ? "L" : "";
  if (colon == std::string::npos) return reader.take_name(question, name);
  const std::string cavities = trim(std::string_view(text).substr(colon + 1));
  const std::size_t slash = cavities.find('/');
  high = trim(std::string_view(cavities).substr(0, slash));
  if (two_wires) low = slash == std::string::npos ? "" : trim(std::string_view(cavities).substr(slash + 1));
  constexpr std::string_view kNever = "@[]></\\\"': ";
  const bool fits = !high.empty() && high != low && (high + low).find_first_of(kNever) == std::string::npos &&
                    (two_wires ? !low.empty() : slash == std::string::npos);
  if (!fits) {
    reader.error("sketch.bad-answer",
                 question + ": \"" + text + "\" does not name " + (two_wires ? "two cavities" : "a cavity"),
                 std::string("for example: ") + name + (two_wires ? ":3/4, high and low" : ":3"));
    return false;
  }
  return reader.take_name(question, name);
}

// A node that is there, or an error that names the nearest.
bool knows(AnswerReader& reader, const std::string& question, const std::vector<std::string>& names,
           const std::string& name) {
  if (std::find(names.begin(), names.end(), name) != names.end()) return true;
  const std::string near = base::did_you_mean(name, names);
  std::string all;
  for (const std::string& n : names) all += (all.empty() ? "" : ", ") + n;
  reader.error("sketch.unknown-node", question + ": there is no node \"" + name + "\"",
               near.empty() ? "nodes are: " + all : near);
  return false;
}

void place_plug(AnswerReader& reader, const std::string& text, BusSketch& sketch) {
  const std::size_t between = text.find(" between ");
  const std::size_t both = between == std::string::npos ? between : text.find(" and ", between);
  if (both == std::string::npos)
    return reader.error("sketch.bad-answer", "plugs: \"" + text + "\" does not say between which two nodes it sits",
                        "for example: J7 between CCU and BC1, or J7:3/4 between CCU and BC1");
  const std::string one = trim(std::string_view(text).substr(between + 9, both - between - 9));
  const std::string other = trim(std::string_view(text).substr(both + 5));
  std::vector<std::string> all;
  for (const SketchBackbone& backbone : sketch.backbones)
    for (const SketchNode& node : backbone.nodes) all.push_back(node.name);
  if (!knows(reader, "plugs", all, one) || !knows(reader, "plugs", all, other)) return;
  for (SketchBackbone& backbone : sketch.backbones)
    for (std::size_t i = 0; i + 1 < backbone.nodes.size(); ++i) {
      const std::string &a = backbone.nodes[i].name, &b = backbone.nodes[i + 1].name;
      if (!((a == one && b == other) || (a == other && b == one))) continue;
      SketchPlug plug;
      plug.after = i;
      if (read_cavities(reader, "plugs", trim(std::string_view(text).substr(0, between)), backbone.kind != "lin",
                        plug.name, plug.high, plug.low))
        backbone.plugs.push_back(std::move(plug));
      return;
    }
  reader.error("sketch.bad-answer", "plugs: " + one + " and " + other + " are not next to each other on the backbone",
               "name the two nodes that come right before and right after the plug");
}

void read_gateway(AnswerReader& reader, BusSketch& sketch) {
  sketch.gateway = reader.one("gateway");
  if (sketch.gateway.empty()) {
    if (reader.told("beyond"))
      reader.error("sketch.missing-answer", "beyond: nodes of a second bus, and no gateway",
                   "name the node that is on both: gateway");
    return;
  }
  const SketchBackbone& first = sketch.backbones.front();
  if (!knows(reader, "gateway", names_of(first), sketch.gateway)) return;
  if (!reader.told("beyond"))
    return reader.error("sketch.missing-answer", "gateway: which nodes are on the bus beyond " + sketch.gateway + "?",
                        "name them in order away from it: beyond; or leave the gateway out");
  SketchBackbone second;
  second.name = "CAN-2";
  second.nodes.push_back(
      *std::find_if(first.nodes.begin(), first.nodes.end(), [&](const auto& n) { return n.name == sketch.gateway; }));
  read_backbone(reader, {"beyond", "beyond-bit-rate", "beyond-lengths", "beyond-terminators"}, second, 3.0);
  if (second.nodes.size() >= 2) sketch.backbones.push_back(std::move(second));
}

void read_socket(AnswerReader& reader, BusSketch& sketch) {
  const std::string text = reader.one("reader");
  if (text.empty()) return;
  const std::size_t at = text.find(" at ");
  if (at == std::string::npos)
    return reader.error("sketch.bad-answer",
                        "reader: \"" + text + "\" does not say at which node the socket branches off",
                        "for example: X9 at CCU, or X9:C/D at CCU");
  SketchSocket socket;
  socket.at = trim(std::string_view(text).substr(at + 4));
  if (!knows(reader, "reader", names_of(sketch.backbones.front()), socket.at)) return;
  if (read_cavities(reader, "reader", trim(std::string_view(text).substr(0, at)), true, socket.name, socket.high,
                    socket.low))
    sketch.socket = std::move(socket);
}

// Lists of codes are copied with semicolons as well; no name here has one.
std::vector<std::string> semicolons_apart(const std::vector<std::string>& list) {
  std::vector<std::string> parts;
  for (const std::string& text : list)
    for (std::size_t from = 0; from <= text.size();) {
      const std::size_t end = std::min(text.find(';', from), text.size());
      if (std::string part = trim(std::string_view(text).substr(from, end - from)); !part.empty())
        parts.push_back(std::move(part));
      from = end + 1;
    }
  return parts;
}

void read_codes(AnswerReader& reader, BusSketch& sketch) {
  std::vector<std::string> nodes;
  for (const SketchBackbone& backbone : sketch.backbones)
    for (const SketchNode& node : backbone.nodes) nodes.push_back(node.name);
  for (const std::string& text : semicolons_apart(reader.list("codes"))) {
    const std::size_t lost = text.rfind(" lost ");
    const std::size_t in = lost == std::string::npos ? lost : text.rfind(" in ", lost);
    if (in == std::string::npos || in == 0) {
      reader.error("sketch.bad-answer",
                   "codes: \"" + text + "\" does not say in which node it stands and which is lost",
                   "for example: SPN 520301 FMI 9 in VCU lost BC1");
      continue;
    }
    SketchCode code{circuit::usual_code_name(trim(std::string_view(text).substr(0, in))),
                    trim(std::string_view(text).substr(in + 4, lost - in - 4)),
                    trim(std::string_view(text).substr(lost + 6))};
    const bool twice = std::any_of(sketch.codes.begin(), sketch.codes.end(),
                                   [&](const SketchCode& other) { return other.name == code.name; });
    if (twice)
      reader.error("sketch.same-name", "codes: there are two codes named \"" + code.name + "\"",
                   "the name of a code stands once; put the module before it if two modules show the same");
    else if (knows(reader, "codes", nodes, code.module) && knows(reader, "codes", nodes, code.lost))
      sketch.codes.push_back(std::move(code));
  }
}

void read_head(AnswerReader& reader, BusSketch& sketch, std::string_view usual_name) {
  sketch.name = reader.one("name", usual_name);
  sketch.vehicle = reader.one("vehicle");
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
}

base::Result<Sketched> finish(AnswerReader& reader, const BusSketch& sketch) {
  if (!reader.errors().empty()) return reader.errors();
  return write_bus_sketch(sketch, reader);
}

}  // namespace

base::Result<Sketched> draw_can_backbone(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  BusSketch sketch;
  read_head(reader, sketch, "CAN backbone");
  sketch.stub_m = reader.number("stub", 0.5, base::Unit::kMetre, 0.01, 100.0);
  sketch.backbones.resize(1);
  sketch.backbones.front().name = "CAN";
  read_backbone(reader, {"nodes", "bit-rate", "lengths", "terminators"}, sketch.backbones.front(), 3.0);
  if (sketch.backbones.front().nodes.size() < 2) return finish(reader, sketch);
  read_gateway(reader, sketch);
  for (const std::string& text : reader.list("plugs")) place_plug(reader, text, sketch);
  read_socket(reader, sketch);
  read_codes(reader, sketch);
  return finish(reader, sketch);
}

base::Result<Sketched> draw_lin_string(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  BusSketch sketch;
  read_head(reader, sketch, "LIN string");
  sketch.stub_m = reader.number("stub", 0.3, base::Unit::kMetre, 0.01, 100.0);
  sketch.backbones.resize(1);
  SketchBackbone& backbone = sketch.backbones.front();
  backbone.name = "LIN";
  backbone.kind = "lin";
  backbone.bit_rate = 19.2;
  backbone.ends[0] = backbone.ends[1] = SketchEnd::kNone;
  read_backbone(reader, {"nodes", "bit-rate", "lengths", ""}, backbone, 1.0);
  if (backbone.nodes.size() < 2) return finish(reader, sketch);
  if (backbone.nodes.size() > 16)
    reader.error("sketch.too-many", "nodes: a LIN bus has one commander and at most 15 responders",
                 "draw further strings as looms of their own");
  for (const std::string& text : reader.list("plugs")) place_plug(reader, text, sketch);
  read_codes(reader, sketch);
  return finish(reader, sketch);
}

}  // namespace halfsplit::formats
