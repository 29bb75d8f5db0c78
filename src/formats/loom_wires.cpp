// SPDX-License-Identifier: Apache-2.0
// [wires.*] and [runs], in this order: points are taken apart; modules that declare nothing get the plugs the points
// name; points are looked up, and what they name completes the cavities of connectors without a list.
#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>

#include "formats/loom_cavities.h"
#include "formats/loom_sections.h"
#include "formats/point_index.h"
#include "formats/run_hops.h"
#include "formats/run_text.h"
#include "formats/text_place.h"
#include "formats/wire_attributes.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using circuit::Connector;
using circuit::ConnectorId;
using circuit::EndPoint;
using circuit::Wire;
using Kind = TomlValue::Kind;

// One text of a run, its hops taken apart.
struct Path {
  const TomlEntry* run;
  const TomlValue* value;
  std::size_t first_link;  // wires of the run before this text
  RunText text;
  std::vector<PointPieces> hops;
  bool sound = true;
};

// A table of [wires] whose points are still to be looked up.
struct SingleWire {
  Wire wire;
  const TomlValue* from;
  const TomlValue* to;
  PointPieces from_pieces, to_pieces;
};

bool same_point(const EndPoint& a, const EndPoint& b) {
  return a.kind == b.kind && a.connector == b.connector && a.side == b.side && a.cavity == b.cavity &&
         a.splice == b.splice && a.stud == b.stud && a.part == b.part && a.frame == b.frame;
}

class WireReader {
 public:
  explicit WireReader(LoomDraft& draft) : draft_(draft), report_(draft.report), loom_(draft.loom) {}

  void run(const Entries& wires, const std::vector<const TomlEntry*>& runs) {
    for (const Declared& declared : wires) read_single(declared);
    for (const TomlEntry* entry : runs) read_run(*entry);
    make_silent_plugs();
    open_index();
    for (SingleWire& single : singles_) join_single(single);
    for (Path& path : paths_) join_path(path);
    complete_connectors();
  }

 private:
  // --- taking apart ---

  void read_single(const Declared& declared) {
    const TomlEntry& entry = *declared.entry;
    TableReader reader(report_, loom_table(TableKind::kWire), "wire " + entry.key, entry.value);
    SingleWire single{{}, reader.find("from"), reader.find("to"), {}, {}};
    Wire& wire = single.wire;
    wire.name = entry.key;
    wire.colour = read_colour(reader);
    wire.size_mm2 = reader.maybe_number("size_mm2");
    wire.length_m = reader.maybe_number("length_m");
    wire.ohm = reader.maybe_number("ohm");
    wire.bundle = read_free_name(reader, "bundle");
    wire.pair = read_free_name(reader, "pair");
    wire.place = draft_.place(reader.placed_text("place"));
    wire.caution = reader.text("caution");
    wire.hazard = read_hazard(reader);
    wire.rate = reader.number("rate");
    wire.repair_minutes = read_minutes(reader);
    wire.part_money = reader.maybe_number("part_money");
    wire.where = report_.kept_span(entry.at, text::count_characters(entry.key));
    const bool from = read_end(reader, "from", single.from_pieces);
    const bool to = read_end(reader, "to", single.to_pieces);
    if (from && to) singles_.push_back(std::move(single));
  }

  static std::string read_colour(TableReader& reader) {
    const std::optional<PlacedText> text = reader.placed_text("colour");
    if (!text || text->text.empty()) return "";
    Parsed<std::string> colour = parse_colour(text->text);
    if (const auto* bad = std::get_if<TextProblem>(&colour)) {
      reader.problem(*reader.find("colour"), *bad);
      return "";
    }
    return std::get<std::string>(std::move(colour));
  }

  static std::string read_free_name(TableReader& reader, std::string_view key) {
    std::string name = reader.text(key);
    const std::optional<TextProblem> bad = name.empty() ? std::nullopt : check_name(name);
    if (bad) reader.problem(*reader.find(key), *bad);
    return name;
  }

  static bool read_end(TableReader& reader, std::string_view key, PointPieces& pieces) {
    const std::optional<PlacedText> text = reader.placed_text(key);
    if (!text) return false;
    std::variant<PointPieces, TextProblem> split = split_point(text->text);
    if (const auto* bad = std::get_if<TextProblem>(&split)) {
      reader.problem(*reader.find(key), *bad);
      return false;
    }
    pieces = std::get<PointPieces>(std::move(split));
    return true;
  }

  void read_run(const TomlEntry& entry) {
    if (entry.value.kind == Kind::kText) {
      read_path(entry, entry.value, 0);
      return;
    }
    std::size_t links = 0;
    bool texts = entry.value.kind == Kind::kList && !entry.value.items.empty();
    for (const TomlValue& item : entry.value.items) texts = texts && item.kind == Kind::kText;
    if (!texts)
      return report_.error("bad-type", entry.value.at, 1,
                           "run " + text::shorten(entry.key, 60) + " is text or a list of texts, and here stands " +
                               std::string(kind_name(entry.value.kind)),
                           "write \"F1 -[RD]-> J1:1 -> L1\"; a run's name with a dot in it stands in quotes");
    for (const TomlValue& item : entry.value.items) links += read_path(entry, item, links);
  }

  // A run cut short by a problem has no true last hop.
  static bool is_last(const Path& path, std::size_t i) {
    return i + 1 == path.text.hops.size() && path.text.links.size() < path.text.hops.size();
  }

  // Returns how many wires the text makes.
  std::size_t read_path(const TomlEntry& entry, const TomlValue& value, std::size_t first_link) {
    Path path{&entry, &value, first_link, parse_run(value.text), {}, true};
    for (const TextProblem& bad : path.text.problems) report_problem(report_, value, bad);
    path.sound = path.text.problems.empty();
    for (std::size_t i = 0; i < path.text.hops.size(); ++i) {
      const bool middle = i > 0 && !is_last(path, i);
      std::variant<PointPieces, TextProblem> split =
          split_point(path.text.hops[i].text, path.text.hops[i].offset, middle);
      if (const auto* bad = std::get_if<TextProblem>(&split)) {
        report_problem(report_, value, *bad);
        path.sound = false;
        path.hops.emplace_back();
      } else {
        path.hops.push_back(std::get<PointPieces>(std::move(split)));
      }
    }
    const std::size_t links = path.text.links.size();
    if (draft_.count_items(links, value.at)) paths_.push_back(std::move(path));
    return links;
  }

  // --- plugs of modules that declare nothing ---

  void make_silent_plugs() {
    for (const Connector& connector : loom_.connectors)
      if (!connector.module.is_none()) speaking_.insert(connector.module.index());
    for (const SingleWire& single : singles_) {
      make_silent_plug(single.from_pieces);
      make_silent_plug(single.to_pieces);
    }
    for (const Path& path : paths_)
      for (const PointPieces& pieces : path.hops) make_silent_plug(pieces);
  }

  void make_silent_plug(const PointPieces& pieces) {
    const std::size_t dot = pieces.head.find('.');
    const bool named = dot != std::string::npos;
    const auto found = draft_.thing_by_name.find(pieces.head.substr(0, dot));
    if (!pieces.has_cavity || found == draft_.thing_by_name.end() || found->second.kind != Thing::Kind::kModule) return;
    const std::size_t index = found->second.index;
    if (speaking_.count(index) > 0) return;
    if (named && check_name(pieces.head.substr(dot + 1))) return;
    const auto [kind, fresh] = silent_named_.emplace(index, named);
    if (kind->second != named || !made_.insert(pieces.head).second) return;
    const circuit::Module& module = loom_.modules[index];
    Connector connector = make_plug(pieces.head, module.place, module.hazard, module.caution, module.where);
    connector.module = circuit::ModuleId(index);
    loom_.connectors.push_back(std::move(connector));
  }

  // --- looking up ---

  void open_index() {
    index_.emplace(loom_);
    for (const circuit::Module& module : loom_.modules)
      for (const circuit::ModulePin& pin : module.pins) listed_.insert(pin.connector.index());
    for (std::size_t i = 0; i < loom_.connectors.size(); ++i)
      if (loom_.connectors[i].rows.empty()) index_->open(ConnectorId(i));
  }

  void report_point(const TomlValue& value, const PointPieces& pieces, const TextProblem& bad) {
    if (draft_.is_flawed(pieces.head.substr(0, pieces.head.find('.')))) return;
    const bool may_be_lost = bad.code == "unknown-point" || bad.code == "unknown-plug";
    if (report_.damaged() && may_be_lost)
      report_.error_unless_damaged(bad.code, value.at, 1, bad.message, bad.hint);
    else
      report_problem(report_, value, bad);
  }

  void join_single(SingleWire& single) {
    const bool from = join_end(*single.from, single.from_pieces, single.wire.from);
    const bool to = join_end(*single.to, single.to_pieces, single.wire.to);
    if (!from || !to) return;
    if (same_point(single.wire.from, single.wire.to))
      return report_.error("same-ends", single.to->at, caret_length(*single.to),
                           "both ends of wire " + single.wire.name + " are the same point", "name two points");
    loom_.wires.push_back(std::move(single.wire));
  }

  bool join_end(const TomlValue& value, const PointPieces& pieces, EndPoint& end) {
    index_->set_hints(!report_.full());
    const std::variant<EndPoint, TextProblem> found = find_wire_end(*index_, pieces);
    if (const auto* bad = std::get_if<TextProblem>(&found)) {
      report_point(value, pieces, *bad);
      return false;
    }
    end = std::get<EndPoint>(found);
    note_undeclared(value, pieces, end);
    return true;
  }

  void join_path(Path& path) {
    std::vector<std::optional<HopEnds>> ends;
    for (std::size_t i = 0; i < path.hops.size(); ++i) ends.push_back(join_hop(path, i));
    TextPlace place(report_.sources().at(path.value->at.file), path.value->at);
    WireAttributes attributes(draft_, *path.value);
    for (std::size_t i = 0; i < path.text.links.size(); ++i) {
      Wire wire;
      attributes.read(path.text.links[i], wire);
      if (i + 1 >= ends.size() || !ends[i] || !ends[i + 1]) continue;
      wire.from = ends[i]->leave;
      wire.to = ends[i + 1]->arrive;
      add_wire(path, i, place, std::move(wire));
    }
  }

  std::optional<HopEnds> join_hop(const Path& path, std::size_t i) {
    const PointPieces& pieces = path.hops[i];
    if (pieces.head.empty()) return std::nullopt;  // reported when it was taken apart
    const HopPlace place = i == 0 ? HopPlace::kFirst : (is_last(path, i) ? HopPlace::kLast : HopPlace::kMiddle);
    index_->set_hints(!report_.full());
    const std::variant<HopEnds, TextProblem> found = find_hop(*index_, pieces, place);
    if (const auto* bad = std::get_if<TextProblem>(&found)) {
      report_point(*path.value, pieces, *bad);
      return std::nullopt;
    }
    note_undeclared(*path.value, pieces, std::get<HopEnds>(found).arrive);
    return std::get<HopEnds>(found);
  }

  void add_wire(const Path& path, std::size_t i, TextPlace& place, Wire wire) {
    const RunLink& link = path.text.links[i];
    text::Position at = path.value->at;
    if (!report_.full()) at = place.at(link.offset);
    const std::string_view text = std::string_view(path.value->text).substr(link.offset, link.length);
    const std::size_t length = text::count_characters(text);
    wire.where = report_.kept_span(at, length);
    if (same_point(wire.from, wire.to))
      return report_.error("same-ends", at, length, "both ends of this wire are the same point", "name two points");
    if (wire.name.empty()) wire.name = path.run->key + "." + std::to_string(path.first_link + i + 1);
    const std::size_t index = loom_.wires.size();
    if (draft_.declare(draft_.wires, wire.name, index, at, "wire", true)) loom_.wires.push_back(std::move(wire));
  }

  // --- completing ---

  // A wire at a pin that its module, which lists others, does not list.
  void note_undeclared(const TomlValue& value, const PointPieces& pieces, const EndPoint& end) {
    if (end.kind != EndPoint::Kind::kCavity) return;
    const Connector& connector = loom_.connectors[end.connector.index()];
    if (connector.module.is_none()) return;
    circuit::Module& module = loom_.modules[connector.module.index()];
    const std::string plug = plug_of(connector);
    if (draft_.has_pin(connector.module.index(), plug, end.cavity)) return;
    const bool listed = listed_.count(end.connector.index()) > 0 && index_->is_open(end.connector);
    if (listed && !report_.damaged() && !report_.warnings_full()) {
      TextPlace place(report_.sources().at(value.at.file), value.at);
      report_.warning("undeclared-pin", place.at(pieces.head_at),
                      text::count_characters(pieces.head) + 1 + text::count_characters(pieces.cavity),
                      module.name + " lists pins of this plug, but not " + end.cavity + "; it is taken as unknown",
                      "add it to [modules." + module.name + ".pins], or mend the point");
    }
    circuit::ModulePin pin;
    pin.plug = plug;
    pin.cavity = end.cavity;
    pin.connector = end.connector;
    pin.where = report_.kept_span(value.at, 1);
    draft_.remember_pin(connector.module.index(), plug, end.cavity, module.pins.size());
    module.pins.push_back(std::move(pin));
  }

  std::string plug_of(const Connector& connector) const {
    const std::size_t length = loom_.modules[connector.module.index()].name.size();
    return connector.name.size() > length ? connector.name.substr(length + 1) : "";
  }

  // Cavities of connectors without a list: those used, and a module's pins; in natural order, one row.
  void complete_connectors() {
    std::map<std::size_t, std::vector<std::string>> names;
    for (const auto& [connector, cavity] : index_->taken()) names[connector.index()].push_back(cavity);
    for (const circuit::Module& module : loom_.modules)
      for (const circuit::ModulePin& pin : module.pins)
        if (index_->is_open(pin.connector)) names[pin.connector.index()].push_back(pin.cavity);
    for (auto& [connector, cavities] : names) {
      sort_cavities(cavities);
      cavities.erase(std::unique(cavities.begin(), cavities.end()), cavities.end());
      const std::string& name = loom_.connectors[connector].name;
      if (cavities.size() > kMostCavities)
        report_.error("too-many", {}, 1, name + " has more than 2,000 cavities", "a connector has fewer");
      draft_.count_items(cavities.size(), {});
      loom_.connectors[connector].rows = {std::move(cavities)};
    }
  }

  LoomDraft& draft_;
  LoomReport& report_;
  circuit::Loom& loom_;
  std::vector<SingleWire> singles_;
  std::vector<Path> paths_;
  std::set<std::size_t> speaking_;            // modules with plugs of their own
  std::map<std::size_t, bool> silent_named_;  // the others: do their points name plugs?
  std::set<std::string> made_;
  std::set<std::size_t> listed_;  // connectors with declared pins
  std::optional<PointIndex> index_;
};

}  // namespace

void read_wires(LoomDraft& draft, const Entries& wires, const std::vector<const TomlEntry*>& runs) {
  WireReader(draft).run(wires, runs);
}

}  // namespace halfsplit::formats
