// SPDX-License-Identifier: Apache-2.0
#include "formats/point_index.h"

#include <algorithm>

#include "base/nearest.h"
#include "circuit/part_kinds.h"
#include "text/natural_order.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using circuit::ConnectorId;
using circuit::EndPoint;
using circuit::Loom;

constexpr std::size_t kMostListed = 12;  // names in a hint

std::string in_quotes(std::string_view text) { return "\"" + text::shorten(text, 60) + "\""; }

std::string_view trim(std::string_view text, std::size_t& offset) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) {
    text.remove_prefix(1);
    ++offset;
  }
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

std::string hint_from(std::string_view wanted, std::vector<std::string> names, const std::string& owner) {
  const std::string near = base::did_you_mean(wanted, names);
  if (!near.empty()) return near;
  if (names.empty()) return owner + " has none";
  std::sort(names.begin(), names.end(), text::natural_less);
  std::string list;
  for (std::size_t i = 0; i < names.size() && i < kMostListed; ++i) list += (i > 0 ? ", " : "") + names[i];
  return owner + " has " + list + (names.size() > kMostListed ? ", ..." : "");
}

std::string cavity_key(ConnectorId connector, std::string_view cavity) {
  return std::to_string(connector.index()) + ":" + std::string(cavity);
}

std::vector<std::string> cavity_names(const circuit::Connector& connector) {
  std::vector<std::string> names;
  for (const auto& row : connector.rows) names.insert(names.end(), row.begin(), row.end());
  return names;
}

TextProblem at_head(const PointPieces& pieces, std::string code, std::string message, std::string hint) {
  return {std::move(code), std::move(message), std::move(hint), pieces.head_at,
          std::max<std::size_t>(1, pieces.head.size())};
}

TextProblem at_cavity(const PointPieces& pieces, std::string code, std::string message, std::string hint) {
  return {std::move(code), std::move(message), std::move(hint), pieces.cavity_at,
          std::max<std::size_t>(1, pieces.cavity.size())};
}

}  // namespace

std::variant<PointPieces, TextProblem> split_point(std::string_view text, std::size_t offset, bool through) {
  const auto bad = [&](std::string message, std::string hint) {
    return TextProblem{"bad-point", std::move(message), std::move(hint), offset, std::max<std::size_t>(1, text.size())};
  };
  PointPieces pieces;
  const std::size_t whole_at = offset;
  text = trim(text, offset);
  if (text.empty()) return TextProblem{"bad-point", "a point is missing here", "write it like J4:12@cab", whole_at, 1};
  const std::size_t at_sign = text.find('@');
  const std::size_t colon = std::min(text.find(':'), at_sign);
  const auto piece = [&](std::size_t begin, std::size_t end, std::string& into, std::size_t& at) {
    at = offset + begin;
    into = trim(text.substr(begin, end - begin), at);
  };
  piece(0, std::min(colon, text.size()), pieces.head, pieces.head_at);
  pieces.has_side = at_sign != std::string_view::npos;
  if (pieces.has_side) piece(at_sign + 1, text.size(), pieces.side, pieces.side_at);
  pieces.has_cavity = colon != at_sign && colon < text.size();
  if (pieces.has_cavity) {
    const std::size_t end = std::min(at_sign, text.size());
    const std::size_t slash = through ? text.substr(0, end).find('/', colon) : std::string_view::npos;
    pieces.has_out = slash != std::string_view::npos;
    piece(colon + 1, std::min(slash, end), pieces.cavity, pieces.cavity_at);
    if (pieces.has_out) piece(slash + 1, end, pieces.out, pieces.out_at);
  }
  if (pieces.head.empty()) return bad(in_quotes(text) + " does not begin with a name", "write it like J4:12@cab");
  if (pieces.has_cavity && pieces.cavity.empty())
    return bad(in_quotes(text) + " has no cavity behind the ':'", "write it like J4:12@cab");
  if (pieces.has_out && pieces.out.empty())
    return bad(in_quotes(text) + " has no terminal behind the '/'", "write it like K1:85/86");
  if (pieces.has_side && pieces.side.empty())
    return bad(in_quotes(text) + " has no side behind the '@'", "write it like J4:12@cab");
  return pieces;
}

PointIndex::PointIndex(const Loom& loom) : loom_(loom) {
  const auto add = [&](const auto& list, Thing::Kind kind) {
    for (std::size_t i = 0; i < list.size(); ++i) things_.emplace(list[i].name, Thing{kind, i});
  };
  for (std::size_t i = 0; i < loom.connectors.size(); ++i) {
    const circuit::Connector& connector = loom.connectors[i];
    const bool owned = !connector.module.is_none() || !connector.part.is_none();
    if (owned)
      plugs_.emplace(connector.name, ConnectorId(i));
    else
      things_.emplace(connector.name, Thing{Thing::Kind::kConnector, i});
    for (const auto& row : connector.rows)
      for (const std::string& cavity : row) cavities_.insert(cavity_key(ConnectorId(i), cavity));
  }
  add(loom.splices, Thing::Kind::kSplice);
  add(loom.studs, Thing::Kind::kStud);
  add(loom.frames, Thing::Kind::kFrame);
  add(loom.parts, Thing::Kind::kPart);
  add(loom.modules, Thing::Kind::kModule);
}

std::optional<Thing> PointIndex::find_thing(std::string_view name) const {
  const auto found = things_.find(std::string(name));
  return found == things_.end() ? std::nullopt : std::optional(found->second);
}

std::optional<std::uint8_t> PointIndex::find_side(ConnectorId connector, std::string_view side) const {
  const std::string* sides = loom_.connectors[connector.index()].sides;
  if (side == sides[0]) return std::uint8_t{0};
  if (side == sides[1]) return std::uint8_t{1};
  return std::nullopt;
}

bool PointIndex::take_cavity(ConnectorId connector, const std::string& cavity) {
  if (cavities_.count(cavity_key(connector, cavity)) > 0) return true;
  if (!is_open(connector)) return false;
  cavities_.insert(cavity_key(connector, cavity));
  taken_.emplace_back(connector, cavity);
  return true;
}

std::vector<std::string> PointIndex::plug_names(std::size_t module) const {
  std::vector<std::string> names;
  for (const circuit::Connector& connector : loom_.connectors)
    if (!connector.module.is_none() && connector.module.index() == module) names.push_back(connector.name);
  return names;
}

TextProblem PointIndex::unknown_point(const PointPieces& pieces) const {
  std::vector<std::string> names;
  const std::size_t cost = things_.size() + plugs_.size();
  if (!hints_ || cost > hint_budget_)
    return at_head(pieces, "unknown-point", in_quotes(pieces.head) + " is not on this drawing", "");
  hint_budget_ -= cost;
  names.reserve(things_.size() + plugs_.size());
  for (const auto& [name, thing] : things_) names.push_back(name);
  for (const auto& [name, plug] : plugs_)
    if (things_.count(name) == 0) names.push_back(name);
  std::sort(names.begin(), names.end());
  const std::string near = base::did_you_mean(pieces.head, names);
  return at_head(pieces, "unknown-point", in_quotes(pieces.head) + " is not on this drawing",
                 near.empty() ? "declare it as a connector, splice, stud, part or module" : near);
}

TextProblem PointIndex::unknown_cavity(ConnectorId connector, const PointPieces& pieces) const {
  const circuit::Connector& owner = loom_.connectors[connector.index()];
  const bool part = !owner.part.is_none();
  return at_cavity(pieces, "unknown-cavity",
                   owner.name + " has no " + (part ? "terminal " : "cavity ") + in_quotes(pieces.cavity),
                   hint_from(pieces.cavity, cavity_names(owner), owner.name));
}

TextProblem PointIndex::unknown_side(ConnectorId connector, const PointPieces& pieces) const {
  const circuit::Connector& owner = loom_.connectors[connector.index()];
  return {"unknown-side", owner.name + " has no side " + in_quotes(pieces.side),
          "its sides are " + owner.sides[0] + " and " + owner.sides[1], pieces.side_at, pieces.side.size()};
}

std::variant<PointIndex::Head, TextProblem> PointIndex::find_module_plug(const PointPieces& pieces,
                                                                         std::size_t dot) const {
  const std::string owner = pieces.head.substr(0, dot);
  const std::optional<Thing> thing = find_thing(owner);
  if (!thing) return unknown_point(pieces);
  if (thing->kind == Thing::Kind::kModule) {
    const std::string plug = pieces.head.substr(dot + 1);
    return at_head(pieces, "unknown-plug", owner + " has no plug " + in_quotes(plug),
                   hint_from(pieces.head, plug_names(thing->index), owner));
  }
  return at_head(pieces, "unknown-plug", owner + " is no module, so it has no named plugs",
                 "write " + owner + ":CAVITY");
}

std::variant<PointIndex::Head, TextProblem> PointIndex::find_head(const PointPieces& pieces) const {
  const auto plug = plugs_.find(pieces.head);
  const ConnectorId connector = plug == plugs_.end() ? ConnectorId() : plug->second;
  if (const std::optional<Thing> thing = find_thing(pieces.head)) return Head{*thing, connector};
  if (!connector.is_none()) {
    const circuit::Connector& owner = loom_.connectors[connector.index()];
    return Head{{Thing::Kind::kModule, owner.module.index()}, connector};
  }
  const std::size_t dot = pieces.head.find('.');
  if (dot == std::string::npos) return unknown_point(pieces);
  return find_module_plug(pieces, dot);
}

std::variant<FoundPoint, TextProblem> PointIndex::find_plug_point(const Head& head, const PointPieces& pieces) {
  const ConnectorId connector = head.thing.kind == Thing::Kind::kConnector ? ConnectorId(head.thing.index) : head.plug;
  const circuit::Connector& owner = loom_.connectors[connector.index()];
  const bool inline_connector = head.thing.kind == Thing::Kind::kConnector;
  if (!pieces.has_cavity)
    return at_head(pieces, "cavity-missing", owner.name + " is a plug, and no cavity is named",
                   "write it like " + owner.name + ":1" + (inline_connector ? "@" + owner.sides[0] : ""));
  FoundPoint found;
  found.end.kind = EndPoint::Kind::kCavity;
  found.end.connector = connector;
  found.end.cavity = pieces.cavity;
  found.side_given = pieces.has_side || !inline_connector;
  if (pieces.has_side) {
    const std::optional<std::uint8_t> side = find_side(connector, pieces.side);
    if (!side) return unknown_side(connector, pieces);
    found.end.side = *side;
  }
  if (!take_cavity(connector, pieces.cavity)) return unknown_cavity(connector, pieces);
  return found;
}

std::variant<FoundPoint, TextProblem> PointIndex::find_terminal(std::size_t part, const PointPieces& pieces) const {
  const circuit::Part& owner = loom_.parts[part];
  std::vector<std::string> terminals;
  for (const std::string_view terminal : circuit::part_kind(owner.kind).terminals) terminals.emplace_back(terminal);
  if (!pieces.has_cavity)
    return at_head(pieces, "cavity-missing", owner.name + " is a part, and no terminal is named",
                   "write it like " + owner.name + ":" + terminals.front());
  if (pieces.has_side)
    return TextProblem{"not-a-plug", owner.name + " has no plug, so its terminals have no sides",
                       "write " + owner.name + ":" + pieces.cavity, pieces.side_at, pieces.side.size()};
  if (std::find(terminals.begin(), terminals.end(), pieces.cavity) == terminals.end())
    return at_cavity(pieces, "unknown-cavity", owner.name + " has no terminal " + in_quotes(pieces.cavity),
                     hint_from(pieces.cavity, terminals, owner.name));
  FoundPoint found;
  found.end.kind = EndPoint::Kind::kTerminal;
  found.end.part = circuit::PartId(part);
  found.end.cavity = pieces.cavity;
  return found;
}

std::variant<FoundPoint, TextProblem> PointIndex::find_bare(const Thing& thing, const PointPieces& pieces) const {
  if (pieces.has_cavity || pieces.has_side)
    return at_head(pieces, "not-a-plug", pieces.head + " is one point, with no cavities or sides",
                   "write " + pieces.head);
  FoundPoint found;
  if (thing.kind == Thing::Kind::kSplice) {
    found.end.kind = EndPoint::Kind::kSplice;
    found.end.splice = circuit::SpliceId(thing.index);
  } else if (thing.kind == Thing::Kind::kStud) {
    found.end.kind = EndPoint::Kind::kStud;
    found.end.stud = circuit::StudId(thing.index);
  } else {
    found.end.kind = EndPoint::Kind::kFrame;
    found.end.frame = circuit::FrameId(thing.index);
  }
  return found;
}

std::variant<FoundPoint, TextProblem> PointIndex::find_point(const PointPieces& pieces) {
  const std::variant<Head, TextProblem> read = find_head(pieces);
  if (const auto* bad = std::get_if<TextProblem>(&read)) return *bad;
  const Head& head = std::get<Head>(read);
  switch (head.thing.kind) {
    case Thing::Kind::kPart:
      if (head.plug.is_none()) return find_terminal(head.thing.index, pieces);
      return find_plug_point(head, pieces);
    case Thing::Kind::kModule: {
      if (!head.plug.is_none()) return find_plug_point(head, pieces);
      const std::vector<std::string> plugs = plug_names(head.thing.index);
      return at_head(
          pieces, "unknown-plug", pieces.head + " has no unnamed plug",
          plugs.empty() ? "give it pins in [modules." + pieces.head + ".pins]" : hint_from("", plugs, pieces.head));
    }
    case Thing::Kind::kConnector:
      return find_plug_point(head, pieces);
    default:
      return find_bare(head.thing, pieces);
  }
}

}  // namespace halfsplit::formats
