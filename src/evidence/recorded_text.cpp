// SPDX-License-Identifier: Apache-2.0
#include "evidence/recorded_text.h"

#include <algorithm>
#include <iterator>

#include "circuit/bus_kinds.h"
#include "evidence/observable_names.h"

namespace halfsplit::evidence {

using base::make_error;
using circuit::Loom;
using circuit::Netlist;

base::Result<std::vector<circuit::ModuleId>> parse_modules(const Loom& loom, const std::string& text) {
  constexpr std::string_view kAnd = " + ";
  std::vector<circuit::ModuleId> modules;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t end = std::min(text.find(kAnd, from), text.size());
    const std::string name = trimmed(std::string_view(text).substr(from, end - from));
    const std::size_t i = index_of(loom.modules, name);
    if (i >= loom.modules.size()) return unknown("module", name, names_of(loom.modules));
    modules.emplace_back(i);
    from = end + kAnd.size();
  }
  std::sort(modules.begin(), modules.end());
  modules.erase(std::unique(modules.begin(), modules.end()), modules.end());
  return modules;
}

namespace {

// Takes " at HIGH LOW" off the end of `text`, or " at POINT" where the bus has one wire.
base::Result<base::Done> take_tap(const Netlist& netlist, bool two_wires, std::string& text, Observable& o) {
  constexpr std::string_view kAt = " at ";
  const std::size_t cut = text.rfind(kAt);
  if (cut == std::string::npos) return base::Done{};
  const std::string points = trimmed(std::string_view(text).substr(cut + kAt.size()));
  if (two_wires) {
    const base::Result<base::Done> both = parse_two_points(netlist, points, o);
    if (!both) return both.diagnostics();
  } else {
    const auto point = circuit::find_point(netlist, points);
    if (!point) return unknown("point", points, point_names(netlist, points));
    o.red = *point;
  }
  text.erase(cut);
  return base::Done{};
}

}  // namespace

// Takes " on BUS" and what is behind it off the end of `text`.
base::Result<base::Done> take_bus(const Loom& loom, const Netlist& netlist, std::string& text, Observable& o) {
  constexpr std::string_view kOn = " on ";
  std::string named;
  for (std::size_t cut = text.rfind(kOn); cut != std::string::npos;
       cut = cut == 0 ? std::string::npos : text.rfind(kOn, cut - 1)) {
    named = text.substr(cut + kOn.size());
    // The longest name that fits.
    std::size_t best = loom.buses.size();
    for (std::size_t b = 0; b < loom.buses.size(); ++b) {
      const std::string& name = loom.buses[b].name;
      const bool fits = named == name || named.starts_with(name + " at ");
      if (fits && (best == loom.buses.size() || name.size() > loom.buses[best].name.size())) best = b;
    }
    if (best == loom.buses.size()) continue;
    o.bus = circuit::BusId(best);
    std::string tail = " " + named.substr(loom.buses[best].name.size());
    const bool two_wires = circuit::bus_kind(loom.buses[best].kind).two_wires;
    const base::Result<base::Done> tap = take_tap(netlist, two_wires, tail, o);
    if (!tap) return tap.diagnostics();
    if (o.red.is_none() && !loom.buses[best].reader_high)
      return make_error("test.no-tap", "this loom does not draw where a reader sits on " + loom.buses[best].name,
                        "say where it was recorded: ... on " + loom.buses[best].name +
                            (two_wires ? " at HIGH-POINT LOW-POINT" : " at POINT"));
    text.erase(cut);
    return base::Done{};
  }
  if (named.empty())
    return make_error("test.no-bus", "\"" + text + "\" does not say on which bus it was recorded",
                      loom.buses.empty() ? "this loom has no bus" : "for example: ... on " + loom.buses.front().name);
  return unknown("bus", named, names_of(loom.buses));
}

base::Result<base::Done> parse_recorded(const Loom& loom, const Netlist& netlist, std::string text, Observable& o) {
  if (o.kind == Kind::kHears) {
    constexpr std::string_view kFrom = " from ";
    const std::size_t cut = text.find(kFrom);
    if (cut == std::string::npos)
      return make_error("test.hears-whom", "\"hears " + text + "\" does not say whom", "hears MODULE from MODULE");
    const auto listener = parse_modules(loom, text.substr(0, cut));
    const auto speaker = parse_modules(loom, text.substr(cut + kFrom.size()));
    if (!listener) return listener.diagnostics();
    if (!speaker) return speaker.diagnostics();
    if (listener->size() != 1 || speaker->size() != 1 || *listener == *speaker)
      return make_error("test.hears-whom", "one module hears another one", "hears MODULE from MODULE");
    o.module = listener->front();
    o.from = speaker->front();
    return base::Done{};
  }
  const base::Result<base::Done> bus = take_bus(loom, netlist, text, o);
  if (!bus) return bus.diagnostics();
  constexpr std::string_view kWhile = " while ";
  const std::size_t cut = o.kind == Kind::kQuiet ? text.find(kWhile) : std::string::npos;
  const auto who = parse_modules(loom, text.substr(0, cut));
  if (!who) return who.diagnostics();
  if (o.kind == Kind::kHeard) {
    if (who->size() != 1) return make_error("test.one-module", "heard is of one module", "one test for each module");
    o.module = who->front();
    return base::Done{};
  }
  o.together = *who;
  if (cut == std::string::npos) return base::Done{};
  const auto others = parse_modules(loom, text.substr(cut + kWhile.size()));
  if (!others) return others.diagnostics();
  std::set_difference(others->begin(), others->end(), who->begin(), who->end(), std::back_inserter(o.meanwhile));
  return base::Done{};
}

std::string joined_modules(const Loom& loom, const std::vector<circuit::ModuleId>& modules) {
  std::string text;
  for (const circuit::ModuleId module : modules)
    text += (text.empty() ? "" : " + ") + loom.modules.at(module.index()).name;
  return text;
}

std::string format_recorded(const Loom& loom, const Netlist& netlist, const Observable& o) {
  const auto module = [&](circuit::ModuleId id) { return loom.modules.at(id.index()).name; };
  if (o.kind == Kind::kHears) return "hears " + module(o.module) + " from " + module(o.from);
  std::string text = o.kind == Kind::kHeard ? "heard " + module(o.module) : "quiet " + joined_modules(loom, o.together);
  if (!o.meanwhile.empty()) text += " while " + joined_modules(loom, o.meanwhile);
  return text + " " + format_tap(loom, netlist, o);
}

std::string format_tap(const Loom& loom, const Netlist& netlist, const Observable& o) {
  std::string text = "on " + loom.buses.at(o.bus.index()).name;
  if (!o.red.is_none()) text += " at " + netlist.points.at(o.red.index()).name;
  if (!o.black.is_none()) text += " " + netlist.points.at(o.black.index()).name;
  return text;
}

}  // namespace halfsplit::evidence
