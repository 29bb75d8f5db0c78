// SPDX-License-Identifier: Apache-2.0
#include "evidence/observable_text.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/nearest.h"
#include "base/number.h"
#include "circuit/code_names.h"
#include "evidence/observable_names.h"
#include "evidence/recorded_text.h"

namespace halfsplit::evidence {

namespace {

using base::make_error;
using circuit::Loom;
using circuit::Netlist;

// What is moved, warmed or cooled. Of a part with a plug, which has its name, one moves the plug and warms the part.
base::Result<base::Done> parse_provoked(const Loom& loom, const std::string& name, Observable& observable) {
  const auto pick = [&](const auto& things, auto& id) {
    const std::size_t i = index_of(things, name);
    if (i < things.size()) id = std::remove_reference_t<decltype(id)>(i);
    return i < things.size();
  };
  const bool moved = observable.kind == Kind::kWiggle;
  if (moved ? pick(loom.connectors, observable.connector) || pick(loom.wires, observable.wire) ||
                  pick(loom.parts, observable.part) || pick(loom.modules, observable.module)
            : pick(loom.parts, observable.part) || pick(loom.modules, observable.module) ||
                  pick(loom.connectors, observable.connector) || pick(loom.wires, observable.wire))
    return base::Done{};
  std::vector<std::string> names = names_of(loom.connectors);
  for (const auto& more : {names_of(loom.wires), names_of(loom.parts), names_of(loom.modules)})
    names.insert(names.end(), more.begin(), more.end());
  return unknown("connector, wire, part or module", name, names);
}

// A point, or else a wire. Both halves of a cavity are looked at in one go: the point of the first side stands for
// them.
base::Result<base::Done> parse_looked_at(const Loom& loom, const Netlist& netlist, const std::string& name,
                                         Observable& observable) {
  circuit::PointId& point = observable.red;
  const std::size_t wire = index_of(loom.wires, name);
  if (wire < loom.wires.size() && !netlist.point_by_name.contains(name)) {
    observable.wire = circuit::WireId(wire);
    return base::Done{};
  }
  base::Result<base::Done> done = parse_point(netlist, name, point);
  if (!done && !base::did_you_mean(name, names_of(loom.wires)).empty())
    return unknown("point or wire", name, names_of(loom.wires));
  if (!done) return done;
  const circuit::Point& named = netlist.points.at(point.index());
  if (named.connector.is_none() || named.side == 0) return done;
  for (std::size_t i = 0; i < netlist.points.size(); ++i) {
    const circuit::Point& other = netlist.points[i];
    if (other.connector == named.connector && other.cavity == named.cavity && other.side == 0)
      point = circuit::PointId(i);
  }
  return done;
}

// By its name, or by the only name it can mean.
base::Result<base::Done> parse_code(const Loom& loom, const std::string& name, circuit::CodeId& code) {
  const std::size_t exact = index_of(loom.codes, name);
  const std::vector<circuit::CodeId> meant =
      exact < loom.codes.size() ? std::vector{circuit::CodeId(exact)} : circuit::find_codes(loom, name);
  if (meant.empty()) return unknown("code", name, names_of(loom.codes));
  if (meant.size() > 1)
    return make_error("test.which-code", "\"" + name + "\" can be set by " + circuit::who_sets(loom, meant),
                      "say whose it is: code " +
                          loom.modules.at(loom.codes.at(meant.front().index()).module.index()).name + " " + name);
  code = meant.front();
  return base::Done{};
}

base::Result<base::Done> parse_subject(const Loom& loom, const Netlist& netlist, const std::string& rest,
                                       Observable& o) {
  const auto pick = [&](const auto& things, const std::string& what, auto& id) -> base::Result<base::Done> {
    const std::size_t i = index_of(things, rest);
    if (i >= things.size()) return unknown(what, rest, names_of(things));
    id = std::remove_reference_t<decltype(id)>(i);
    return base::Done{};
  };
  switch (o.kind) {
    case Kind::kClamp:
      return pick(loom.wires, "wire", o.wire);
    case Kind::kCode:
      return parse_code(loom, rest, o.code);
    case Kind::kLive:
      return pick(loom.lives, "live value", o.live);
    case Kind::kLook:
      return pick(loom.parts, "part", o.part);
    case Kind::kAnswers:
      return pick(loom.modules, "module", o.module);
    case Kind::kWiggle:
    case Kind::kHeat:
    case Kind::kCool:
      return parse_provoked(loom, rest, o);
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:
      return parse_recorded(loom, netlist, rest, o);
    case Kind::kInspect:
      return parse_looked_at(loom, netlist, rest, o);
    default:
      return parse_two_points(netlist, rest, o);
  }
}

bool unit_fits(Kind kind, base::Unit unit) {
  if (unit == base::Unit::kNone) return true;
  switch (kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return unit == base::Unit::kVolt;
    case Kind::kOhms:
      return unit == base::Unit::kOhm;
    case Kind::kClamp:
      return unit == base::Unit::kAmpere;
    default:
      return true;
  }
}

// Words people use for the categories, beside the first ones.
int find_category(Kind kind, std::string word) {
  std::transform(word.begin(), word.end(), word.begin(), [](unsigned char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : static_cast<char>(c);
  });
  struct Alias {
    Kind kind;
    std::string_view word;
    int category;
  };
  constexpr Alias kAliases[] = {
      {Kind::kLook, "bright", 0},    {Kind::kLook, "dim", 1},       {Kind::kLook, "dark", 2},
      {Kind::kLook, "ok", 0},        {Kind::kLook, "slow", 1},      {Kind::kLook, "off", 2},
      {Kind::kTestLamp, "on", 0},    {Kind::kTestLamp, "off", 2},   {Kind::kAnswers, "answers", 0},
      {Kind::kAnswers, "silent", 1}, {Kind::kContinuity, "yes", 0}, {Kind::kContinuity, "no", 1},
      {Kind::kContinuity, "ol", 1},  {Kind::kCode, "stored", 1},    {Kind::kCode, "previous", 1},
      {Kind::kCode, "inactive", 1},  {Kind::kCode, "none", 2},      {Kind::kCode, "gone", 2},
      {Kind::kCode, "present", 0},   {Kind::kWiggle, "no", 1},      {Kind::kWiggle, "yes", 0},
      {Kind::kHeat, "no", 1},        {Kind::kHeat, "yes", 0},       {Kind::kCool, "no", 1},
      {Kind::kCool, "yes", 0},       {Kind::kHeard, "heard", 0},    {Kind::kHeard, "no", 1},
      {Kind::kQuiet, "restart", 0},  {Kind::kQuiet, "yes", 1},      {Kind::kQuiet, "return", 1},
      {Kind::kQuiet, "never", 2},    {Kind::kHears, "answers", 0},  {Kind::kHears, "silent", 1},
      {Kind::kInspect, "yes", 0},    {Kind::kInspect, "no", 1},     {Kind::kInspect, "corroded", 0},
      {Kind::kInspect, "green", 0},  {Kind::kInspect, "burnt", 0},  {Kind::kInspect, "wet", 0},
      {Kind::kInspect, "loose", 0},  {Kind::kInspect, "bent", 0},   {Kind::kInspect, "rusty", 0},
      {Kind::kInspect, "dirty", 0},  {Kind::kInspect, "broken", 0}, {Kind::kInspect, "rubbed", 0},
      {Kind::kInspect, "melted", 0}, {Kind::kInspect, "ok", 1},     {Kind::kInspect, "fine", 1},
      {Kind::kInspect, "dry", 1},    {Kind::kLook, "lit", 0},       {Kind::kLook, "on", 0},
      {Kind::kAnswers, "dead", 1}};
  const auto& words = categories(kind);
  for (std::size_t i = 0; i < words.size(); ++i)
    if (words[i] == word) return static_cast<int>(i);
  for (const Alias& alias : kAliases)
    if (alias.kind == kind && alias.word == word) return alias.category;
  return -1;
}

}  // namespace

std::string provoked_name(const Loom& loom, const Observable& o) {
  if (!o.connector.is_none()) return loom.connectors.at(o.connector.index()).name;
  if (!o.wire.is_none()) return loom.wires.at(o.wire.index()).name;
  return o.part.is_none() ? loom.modules.at(o.module.index()).name : loom.parts.at(o.part.index()).name;
}

std::string format_observable(const Loom& loom, const Netlist& netlist, const Observable& o) {
  const auto point = [&](circuit::PointId id) { return netlist.points.at(id.index()).name; };
  switch (o.kind) {
    case Kind::kClamp:
      return "clamp " + loom.wires.at(o.wire.index()).name;
    case Kind::kCode:
      return "code " + loom.codes.at(o.code.index()).name;
    case Kind::kLive:
      return "live " + loom.lives.at(o.live.index()).name;
    case Kind::kLook:
      return "look " + loom.parts.at(o.part.index()).name;
    case Kind::kAnswers:
      return "module " + loom.modules.at(o.module.index()).name;
    case Kind::kWiggle:
    case Kind::kHeat:
    case Kind::kCool:
      return std::string(kind_word(o.kind)) + " " + provoked_name(loom, o);
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:
      return format_recorded(loom, netlist, o);
    case Kind::kInspect:
      return "inspect " + (o.wire.is_none() ? point(o.red) : loom.wires.at(o.wire.index()).name);
    default:
      return std::string(kind_word(o.kind)) + " " + point(o.red) + " " + point(o.black);
  }
}

base::Result<Observable> parse_observable(const Loom& loom, const Netlist& netlist, std::string_view text) {
  const std::string whole = trimmed(text);
  if (whole.empty()) return make_error("test.empty", "no test is named", "for example: volts J4:12@cab chassis");
  const std::size_t cut = whole.find(' ');
  std::string verb = whole.substr(0, cut);
  const std::string rest = cut == std::string::npos ? "" : trimmed(whole.substr(cut));
  if (verb == "module") verb = "answers";
  const std::optional<Kind> kind = find_kind(verb);
  if (!kind) {
    const std::vector<std::string> verbs{"volts",   "ohms",   "continuity", "lamp",   "clamp", "code",
                                         "live",    "look",   "module",     "wiggle", "heat",  "cool",
                                         "highest", "lowest", "heard",      "quiet",  "hears", "inspect"};
    const std::string near = base::did_you_mean(verb, verbs);
    return make_error("test.unknown-verb", "\"" + verb + "\" is not a test",
                      (near.empty() ? std::string() : near + " ") +
                          "tests: volts highest lowest ohms continuity lamp clamp code live look module wiggle heat "
                          "cool inspect heard quiet hears");
  }
  if (rest.empty())
    return make_error("test.empty", "\"" + whole + "\" does not say what to look at",
                      "name the points, wire, part, module or code");
  Observable observable;
  observable.kind = *kind;
  const base::Result<base::Done> done = parse_subject(loom, netlist, rest, observable);
  if (!done) return done.diagnostics();
  return observable;
}

base::Result<Seen> parse_seen(const Loom& loom, const Observable& observable, std::string_view text) {
  if (is_numeric(observable.kind) || find_category(observable.kind, trimmed(text)) >= 0)
    return parse_seen(observable, text);
  std::string words;
  for (std::size_t i = 0; i < categories(observable.kind).size(); ++i) {
    Seen seen;
    seen.category = static_cast<int>(i);
    words += (words.empty() ? "" : ", ") + format_seen(loom, observable, seen);
  }
  return make_error("value.unknown-word", "\"" + std::string(text) + "\" is not a result of this test",
                    "say one of: " + words);
}

base::Result<Seen> parse_seen(const Observable& observable, std::string_view text) {
  Seen seen;
  if (!is_numeric(observable.kind)) {
    seen.category = find_category(observable.kind, trimmed(text));
    if (seen.category >= 0) return seen;
    std::string words;
    for (const std::string_view word : categories(observable.kind))
      words += (words.empty() ? "" : ", ") + std::string(word);
    return make_error("value.unknown-word", "\"" + std::string(text) + "\" is not a result of this test",
                      "say one of: " + words);
  }
  if (observable.kind == Kind::kLive && (trimmed(text) == "---" || trimmed(text) == "none")) {
    seen.over_range = true;
    return seen;
  }
  const base::Result<base::Quantity> quantity = base::parse_quantity(text);
  if (!quantity) return quantity.diagnostics();
  if (!unit_fits(observable.kind, quantity->unit))
    return make_error("value.wrong-unit", "\"" + std::string(text) + "\" is not in the unit of this test",
                      "give " + std::string(kind_word(observable.kind)));
  seen.over_range = quantity->over_range;
  seen.value = quantity->value;
  if (seen.over_range && observable.kind != Kind::kOhms && observable.kind != Kind::kLive)
    return make_error("value.wrong-unit",
                      "OL is an ohms reading; this test is " + std::string(kind_word(observable.kind)),
                      "type the number on the display");
  return seen;
}

std::string_view unit_of(const Loom& loom, const Observable& observable) {
  switch (observable.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return "V";
    case Kind::kOhms:
      return "ohm";
    case Kind::kClamp:
      return "A";
    case Kind::kLive:
      return loom.lives.at(observable.live.index()).unit;
    default:
      return "";
  }
}

std::string format_seen(const Loom& loom, const Observable& observable, const Seen& seen) {
  if (!is_numeric(observable.kind)) {
    const std::size_t i = static_cast<std::size_t>(std::max(0, seen.category));
    const bool lamp =
        observable.kind == Kind::kLook && loom.parts.at(observable.part.index()).kind == circuit::PartKind::kLamp;
    constexpr std::string_view kLamp[] = {"bright", "dim", "dark"};
    if (lamp) return std::string(kLamp[i]);
    if (observable.kind == Kind::kAnswers) return i == 0 ? "answers" : "silent";
    return std::string(categories(observable.kind).at(i));
  }
  switch (observable.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return base::format_quantity(seen.value, base::Unit::kVolt);
    case Kind::kOhms:
      return seen.over_range ? "OL" : base::format_quantity(seen.value, base::Unit::kOhm);
    case Kind::kClamp:
      return base::format_quantity(seen.value, base::Unit::kAmpere);
    default: {
      if (seen.over_range) return "---";
      const std::string_view unit = unit_of(loom, observable);
      return base::format_significant(seen.value, 3) + (unit.empty() ? "" : " " + std::string(unit));
    }
  }
}

}  // namespace halfsplit::evidence
