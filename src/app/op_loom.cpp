// SPDX-License-Identifier: Apache-2.0
// Operations on a loom alone: check, trace, draw, faults.
#include <algorithm>

#include "app/board_drawing.h"
#include "app/cautions.h"
#include "app/hops.h"
#include "app/ops.h"
#include "app/standing.h"
#include "app/words.h"
#include "base/number.h"
#include "circuit/oddities.h"
#include "circuit/part_kinds.h"
#include "evidence/observable_text.h"
#include "fault/rates.h"
#include "formats/wire_list_csv.h"
#include "report/draw_svg.h"

namespace halfsplit::app {

namespace {

using circuit::Element;
using circuit::ElementKind;

// The loom named as an argument, or the one of the job.
base::Result<std::shared_ptr<BeliefEngine>> loom_of(Context& context, const Arguments& arguments) {
  const std::string loom = arguments.get("loom");
  if (!loom.empty()) return context.cache.engine(context, loom);
  base::Result<Session> session = open_session(context, arguments.get("job"));
  if (!session) return session.diagnostics();
  return session->engine;
}

double reach_minutes(const LoadedLoom& loom, circuit::PlaceId place) {
  if (place.is_none()) return 0.0;
  double minutes = loom.loom.places[place.index()].minutes;
  for (const circuit::SetupId s : candidates::access(loom.loom, place))
    minutes += loom.loom.setups[s.index()].do_minutes + loom.loom.setups[s.index()].undo_minutes;
  return minutes;
}

Json place_json(const LoadedLoom& loom, circuit::PlaceId place) {
  return place.is_none() ? Json(nullptr) : Json(loom.loom.places[place.index()].name);
}

// One hop of a path in words and JSON.
std::pair<std::string, Json> hop(const LoadedLoom& loom, std::size_t index, bool forward) {
  const Element& e = loom.netlist.elements[index];
  Json json;
  json["element"] = e.name;
  json["ohm"] = e.ohm;
  std::string text;
  circuit::PlaceId place;
  switch (e.item.kind) {
    case circuit::Item::Kind::kWire: {
      const circuit::Wire& wire = loom.loom.wires[e.item.index];
      place = wire.place;
      text = "wire " + wire.name;
      json["kind"] = "wire";
      json["colour"] = wire.colour;
      if (wire.size_mm2) json["size_mm2"] = *wire.size_mm2;
      if (wire.length_m) json["length_m"] = *wire.length_m;
      if (!wire.colour.empty()) text += "  " + wire.colour;
      text += wire.size_mm2 ? "  " + base::format_significant(*wire.size_mm2, 3) + " mm2" : "  size not drawn";
      if (wire.length_m) text += "  " + base::format_significant(*wire.length_m, 3) + " m";
      break;
    }
    case circuit::Item::Kind::kConnector: {
      const circuit::Connector& c = loom.loom.connectors[e.item.index];
      const std::size_t in = forward ? 0 : 1;
      place = c.place[in];
      json["kind"] = "contact";
      json["connector"] = c.name;
      json["cavity"] = e.item.cavity;
      json["from_side"] = c.sides[in];
      json["to_side"] = c.sides[1 - in];
      text = "plug " + c.name + " cavity " + e.item.cavity + "  " + c.sides[in] + " -> " + c.sides[1 - in];
      break;
    }
    case circuit::Item::Kind::kSplice:
      place = loom.loom.splices[e.item.index].place;
      json["kind"] = "splice";
      text = "splice " + e.name;
      break;
    case circuit::Item::Kind::kStud:
      place = loom.loom.studs[e.item.index].place;
      json["kind"] = "stud";
      text = "ground stud " + e.name;
      break;
    case circuit::Item::Kind::kPart:
      place = loom.loom.parts[e.item.index].place;
      json["kind"] = std::string(circuit::part_kind(loom.loom.parts[e.item.index].kind).word);
      text = json["kind"].get<std::string>() + " " + e.name;
      break;
    case circuit::Item::Kind::kModule:
      place = loom.loom.modules[e.item.index].place;
      json["kind"] = "module";
      text = "inside " + e.name;
      break;
    case circuit::Item::Kind::kNone:
      text = e.name;
      break;
  }
  json["place"] = place_json(loom, place);
  json["minutes"] = reach_minutes(loom, place);
  if (!place.is_none())
    text += "  [" + loom.loom.places[place.index()].name + ", " + minutes_text(reach_minutes(loom, place)) + "]";
  return {text, json};
}

base::Result<circuit::PointId> point_of(const LoadedLoom& loom, const std::string& name) {
  const auto found = circuit::find_point(loom.netlist, name);
  if (found) return *found;
  // The same words as a test with this point would give.
  const base::Result<evidence::Observable> probe =
      evidence::parse_observable(loom.loom, loom.netlist, "volts " + name + " " + loom.loom.frames.front().name);
  return probe ? base::Result<circuit::PointId>(probe->red) : base::Result<circuit::PointId>(probe.diagnostics());
}

constexpr std::size_t kMostFaultsWithFuses = 3000;

// "; blows F3 at work", "; can blow F3 at work", by the ends and the middle of its range.
std::string tell_fuses(BeliefEngine& engine, fault::FaultId id, Json& json) {
  const std::vector<fault::FaultId> always = engine.melted_by({{{id, 0.5}}});
  std::vector<fault::FaultId> sometimes;
  if (fault::has_range(engine.loom().universe.faults[id.index()]))
    for (const double quantile : {0.0, 1.0})
      for (const fault::FaultId fuse : engine.melted_by({{{id, quantile}}}))
        if (std::find(always.begin(), always.end(), fuse) == always.end()) sometimes.push_back(fuse);
  std::sort(sometimes.begin(), sometimes.end());
  sometimes.erase(std::unique(sometimes.begin(), sometimes.end()), sometimes.end());
  if (!always.empty()) json["blows"] = melted_json(engine.loom(), always);
  if (!sometimes.empty()) json["can_blow"] = melted_json(engine.loom(), sometimes);
  std::string can = melted_text(engine.loom(), sometimes);
  if (!can.empty()) can.replace(can.find("blows"), 5, "can blow");
  return melted_text(engine.loom(), always) + can;
}

}  // namespace

Reply op_check(Context& context, const Arguments& arguments) {
  const base::Result<std::shared_ptr<BeliefEngine>> engine = context.cache.engine(context, arguments.get("loom"));
  if (!engine) return fail(engine.diagnostics());
  const LoadedLoom& loom = (*engine)->loom();
  Reply reply;
  reply.diagnostics = loom.warnings;
  for (base::Diagnostic& d : circuit::find_oddities(loom.loom)) reply.diagnostics.push_back(std::move(d));
  for (base::Diagnostic& d : find_odd_rests(loom)) reply.diagnostics.push_back(std::move(d));
  // A place in the file, so that the caret can be shown.
  for (base::Diagnostic& d : reply.diagnostics) {
    if (d.where.file.empty() || d.where.line == 0 || !d.where.source_line.empty()) continue;
    const base::Result<std::string> text = context.files.read(d.where.file, kMostBytes);
    if (!text) continue;
    std::size_t at = 0;
    for (std::size_t line = 1; line < d.where.line && at != std::string::npos; ++line)
      at = text->find('\n', at) == std::string::npos ? std::string::npos : text->find('\n', at) + 1;
    if (at != std::string::npos) d.where.source_line = text->substr(at, text->find('\n', at) - at);
  }
  const std::size_t warnings = reply.diagnostics.size();
  if (warns_of_nothing(loom.loom)) {
    base::Diagnostic note =
        base::make_warning("check.no-cautions", "nothing on this drawing says what may move, burn or bite",
                           "give a hazard to what does, or a caution to its place or setup");
    note.severity = base::Severity::kNote;
    reply.diagnostics.push_back(std::move(note));
  }
  reply.result = {{"loom", loom.loom.name},
                  {"print", loom.print},
                  {"wires", loom.loom.wires.size()},
                  {"connectors", loom.loom.connectors.size()},
                  {"parts", loom.loom.parts.size()},
                  {"modules", loom.loom.modules.size()},
                  {"points", loom.netlist.points.size()},
                  {"nodes", loom.netlist.node_count()},
                  {"faults", loom.universe.faults.size()},
                  {"odd", warnings}};
  if (arguments.has("points")) {
    Json points = Json::array();
    for (std::size_t i = 0; i < loom.netlist.points.size(); ++i)
      points.push_back(point_json(loom, circuit::PointId(i)));
    reply.result["point_list"] = points;
  }
  reply.text = loom.loom.name + ": " + std::to_string(loom.loom.wires.size()) + " wires, " +
               std::to_string(loom.loom.connectors.size()) + " plugs, " + std::to_string(loom.loom.parts.size()) +
               " parts, " + std::to_string(loom.loom.modules.size()) + " modules; " +
               std::to_string(loom.universe.faults.size()) + " single faults.\n";
  reply.text +=
      warnings == 0 ? "Nothing odd.\n" : std::to_string(warnings) + " odd thing" + (warnings == 1 ? "" : "s") + ".\n";
  if (arguments.has("points"))
    for (std::size_t i = 0; i < loom.netlist.points.size(); ++i)
      reply.text += "  " + padded(loom.netlist.points[i].name, 24) + " " + point_text(loom, circuit::PointId(i)) + "\n";
  return reply;
}

Reply op_trace(Context& context, const Arguments& arguments) {
  const base::Result<std::shared_ptr<BeliefEngine>> engine = loom_of(context, arguments);
  if (!engine) return fail(engine.diagnostics());
  const LoadedLoom& loom = (*engine)->loom();
  const base::Result<circuit::PointId> from = point_of(loom, arguments.get("from"));
  const base::Result<circuit::PointId> to = point_of(loom, arguments.get("to"));
  if (!from) return fail(from.diagnostics());
  if (!to) return fail(to.diagnostics());
  const circuit::Point& a = loom.netlist.points[from->index()];
  const circuit::Point& b = loom.netlist.points[to->index()];
  const auto path = find_path(loom.netlist, a.node, b.node);
  Reply reply;
  Json hops = Json::array();
  double ohm = 0.0;
  reply.text = a.name + "\n";
  for (const auto& [index, forward] : path) {
    const auto [text, json] = hop(loom, index, forward);
    reply.text += "  " + text + "\n";
    hops.push_back(json);
    ohm += loom.netlist.elements[index].ohm;
  }
  if (path.empty() && a.node != b.node)
    return fail(base::make_error("trace.no-path", "nothing on this drawing joins " + a.name + " and " + b.name,
                                 "try a point nearer, or `halfsplit draw`"));
  reply.text += b.name + "\n" + std::to_string(path.size()) + " hops, " + base::format_quantity(ohm, base::Unit::kOhm) +
                " end to end as drawn\n";
  reply.result = {{"from", a.name}, {"to", b.name}, {"ohm", ohm}, {"hops", hops}};
  return reply;
}

Reply op_draw(Context& context, const Arguments& arguments) {
  std::shared_ptr<BeliefEngine> engine;
  report::DrawRequest* request = nullptr;
  std::vector<double> suspicion;
  double elsewhere = 0.0;
  if (arguments.has("job") || !arguments.has("loom")) {
    base::Result<Session> session = open_session(context, arguments.get("job"));
    if (!session) return fail(session.diagnostics());
    engine = session->engine;
    const Belief& belief = engine->update(session->evidence, context.cancel);
    suspicion = suspicion_of(*engine, belief);
    elsewhere = belief.posterior.not_drawn;
  } else {
    const base::Result<std::shared_ptr<BeliefEngine>> loaded = context.cache.engine(context, arguments.get("loom"));
    if (!loaded) return fail(loaded.diagnostics());
    engine = *loaded;
  }
  report::DrawRequest drawing{engine->loom().loom, engine->loom().netlist};
  request = &drawing;
  request->suspicion = suspicion;
  request->elsewhere = elsewhere;
  request->dark = arguments.has("dark");
  const std::string svg = report::draw_svg(drawing);
  Reply reply;
  const std::string out = arguments.get("out");
  if (out.empty()) {
    reply.text = svg;
    reply.result = {{"svg", svg}};
    return reply;
  }
  const base::Result<base::Done> written = context.files.write(out, svg);
  if (!written) return fail(written.diagnostics());
  reply.text = "wrote " + out + "\n";
  reply.result = {{"file", out}, {"bytes", svg.size()}};
  return reply;
}

Reply op_wires(Context& context, const Arguments& arguments) {
  const base::Result<std::shared_ptr<BeliefEngine>> engine = loom_of(context, arguments);
  if (!engine) return fail(engine.diagnostics());
  Reply reply;
  reply.text = formats::write_wire_list_csv((*engine)->loom().loom);
  reply.result = {{"csv", reply.text}};
  const std::string out = arguments.get("out");
  if (out.empty()) return reply;
  const base::Result<base::Done> written = context.files.write(out, reply.text);
  if (!written) return fail(written.diagnostics());
  reply.text = "wrote " + out + "\n";
  return reply;
}

Reply op_faults(Context& context, const Arguments& arguments) {
  const base::Result<std::shared_ptr<BeliefEngine>> engine = loom_of(context, arguments);
  if (!engine) return fail(engine.diagnostics());
  const LoadedLoom& loom = (*engine)->loom();
  const bool with_fuses = loom.universe.faults.size() <= kMostFaultsWithFuses || arguments.has("blows");
  Reply reply;
  Json list = Json::array();
  for (std::size_t i = 0; i < loom.universe.faults.size(); ++i) {
    const fault::Fault& f = loom.universe.faults[i];
    const fault::Repair& repair = loom.universe.repairs[f.repair.index()];
    Json json{{"name", f.name},
              {"kind", std::string(fault::fault_kind_word(f.kind))},
              {"description", f.description},
              {"rate_per_year", f.rate_per_year},
              {"repair", repair.name},
              {"repair_minutes", repair.minutes},
              {"part_money", repair.part_money},
              {"place", place_json(loom, repair.place)}};
    if (fault::has_range(f))
      json["range"] = {{"low", f.low}, {"high", f.high}, {"unit", std::string(f.unit)}, {"logarithmic", f.logarithmic}};
    std::string text = f.description;
    if (with_fuses) text += tell_fuses(**engine, fault::FaultId(i), json);
    list.push_back(json);
    reply.text += padded(f.name, 34) + " " + text + "\n";
    if (context.cancel.cancelled()) break;
  }
  if (!with_fuses) reply.text += "Which of them blow a fuse is not worked out for so many: halfsplit faults --blows\n";
  reply.result = {{"faults", list}};
  return reply;
}

}  // namespace halfsplit::app
