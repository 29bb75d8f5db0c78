// SPDX-License-Identifier: Apache-2.0
// What people say they did, in plain words.
#include <algorithm>
#include <optional>

#include "app/session.h"
#include "base/nearest.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using base::make_error;
using candidates::Act;

bool take(std::string_view& text, std::string_view word) {
  if (!text.starts_with(word) || (text.size() > word.size() && text[word.size()] != ' ')) return false;
  text.remove_prefix(std::min(text.size(), word.size() + 1));
  while (text.starts_with(' ')) text.remove_prefix(1);
  return true;
}

template <class Thing>
std::vector<std::string> names_of(const std::vector<Thing>& things) {
  std::vector<std::string> names;
  for (const Thing& thing : things) names.push_back(thing.name);
  return names;
}

template <class Thing>
std::size_t index_of(const std::vector<Thing>& things, std::string_view name) {
  for (std::size_t i = 0; i < things.size(); ++i)
    if (things[i].name == name) return i;
  return things.size();
}

base::Diagnostic unknown(const std::string& what, std::string_view name, const std::vector<std::string>& names) {
  const std::string near = base::did_you_mean(name, names);
  return make_error("did.unknown-name", "there is no " + what + " named \"" + std::string(name) + "\" in this loom",
                    near.empty() ? "names are those of the drawing" : near);
}

base::Result<Deed> deed_of(Deed::Kind kind, Act act) {
  Deed deed;
  deed.kind = kind;
  deed.act = act;
  return deed;
}

base::Result<Deed> parse_setup(const LoadedLoom& loom, std::string_view name, Deed::Kind kind) {
  const std::size_t i = index_of(loom.loom.setups, name);
  if (i == loom.loom.setups.size()) return unknown("setup", name, names_of(loom.loom.setups));
  Act act;
  act.setup = circuit::SetupId(i);
  return deed_of(kind, act);
}

// "key off", "lights on", "turn the key off", of a setup named key-on: what people say of a switch.
std::optional<Deed> parse_switched(const LoadedLoom& loom, std::string_view text) {
  for (const char* word : {"turn", "switch", "the"}) take(text, word);
  const std::size_t cut = text.find_last_of(" -");
  if (cut == std::string_view::npos || cut == 0) return std::nullopt;
  const std::string_view state = text.substr(cut + 1);
  if (state != "off" && state != "on") return std::nullopt;
  std::string on(text.substr(0, cut));
  std::replace(on.begin(), on.end(), ' ', '-');
  const std::size_t i = index_of(loom.loom.setups, on + "-on");
  if (i == loom.loom.setups.size()) return std::nullopt;
  Deed deed;
  deed.kind = state == "on" ? Deed::Kind::kMake : Deed::Kind::kUndo;
  deed.act.setup = circuit::SetupId(i);
  return deed;
}

// "key off" of each setup named key-on.
std::vector<std::string> offs(const LoadedLoom& loom) {
  std::vector<std::string> list;
  for (const circuit::Setup& setup : loom.loom.setups)
    if (setup.name.ends_with("-on")) list.push_back(setup.name.substr(0, setup.name.size() - 3) + " off");
  return list;
}

base::Result<Deed> parse_plug(const LoadedLoom& loom, std::string_view name, Deed::Kind kind) {
  const std::size_t i = index_of(loom.loom.connectors, name);
  if (i == loom.loom.connectors.size()) return unknown("connector", name, names_of(loom.loom.connectors));
  if (!loom.loom.connectors[i].pluggable)
    return make_error("did.unknown", std::string(name) + " cannot be unplugged, says the loom", "");
  Act act;
  act.kind = Act::Kind::kUnplug;
  act.connector = circuit::ConnectorId(i);
  return deed_of(kind, act);
}

base::Result<Deed> parse_swap(const LoadedLoom& loom, std::string_view name, Deed::Kind kind) {
  Act act;
  const std::size_t part = index_of(loom.loom.parts, name);
  if (part < loom.loom.parts.size()) {
    act.kind = Act::Kind::kSwapPart;
    act.part = circuit::PartId(part);
    return deed_of(kind, act);
  }
  const std::size_t module = index_of(loom.loom.modules, name);
  std::vector<std::string> names = names_of(loom.loom.parts);
  const std::vector<std::string> more = names_of(loom.loom.modules);
  names.insert(names.end(), more.begin(), more.end());
  if (module == loom.loom.modules.size()) return unknown("part or module", name, names);
  act.kind = Act::Kind::kSwapModule;
  act.module = circuit::ModuleId(module);
  return deed_of(kind, act);
}

// "1k at A B", "lead at A B"; "at" may be left out. A value may hold a blank: "1.00 kohm at A B".
base::Result<Deed> parse_fit(const LoadedLoom& loom, std::string_view text, Deed::Kind kind) {
  const std::size_t at = text.find(" at ");
  std::string_view value = at == std::string_view::npos ? text.substr(0, text.find(' ')) : text.substr(0, at);
  std::string rest(at == std::string_view::npos ? text.substr(std::min(text.size(), value.size() + 1))
                                                : text.substr(at + 4));
  Act act;
  act.kind = Act::Kind::kFit;
  act.fitted.kind = value == "lead" ? circuit::Fitted::Kind::kLead : circuit::Fitted::Kind::kStandIn;
  if (value != "lead") {
    const base::Result<base::Quantity> ohm = base::parse_quantity(value);
    if (!ohm) return ohm.diagnostics();
    if (ohm->over_range || ohm->value < 0.0)
      return make_error("did.unknown", "a stand-in has ohms: \"" + std::string(value) + "\"",
                        "for example: fit 1k at B7:1 B7:2");
    act.fitted.ohm = ohm->value;
  }
  const base::Result<evidence::Observable> points =
      evidence::parse_observable(loom.loom, loom.netlist, "volts " + rest);
  if (!points) return points.diagnostics();
  act.fitted.a = std::min(points->red, points->black);
  act.fitted.b = std::max(points->red, points->black);
  return deed_of(kind, act);
}

base::Result<Deed> parse_repair(const LoadedLoom& loom, std::string_view name);

// "A and B and C": repairs whose own words may hold an "and". Empty: it cannot be read so.
std::vector<Deed> parse_repairs(const LoadedLoom& loom, std::string_view text) {
  for (std::size_t cut = text.find(" and "); cut != std::string_view::npos; cut = text.find(" and ", cut + 1)) {
    const base::Result<Deed> first = parse_repair(loom, text.substr(0, cut));
    if (!first) continue;
    std::vector<Deed> rest = parse_repairs(loom, text.substr(cut + 5));
    const base::Result<Deed> last = parse_repair(loom, text.substr(cut + 5));
    if (last) rest = {*last};
    if (rest.empty()) continue;
    rest.insert(rest.begin(), *first);
    return rest;
  }
  return {};
}

// A repair by its own words, by a fault it mends, or by the thing it is done to.
base::Result<Deed> parse_repair(const LoadedLoom& loom, std::string_view name) {
  Deed deed;
  deed.kind = Deed::Kind::kRepair;
  std::vector<std::string> names;
  for (std::size_t i = 0; i < loom.universe.repairs.size(); ++i) {
    names.push_back(loom.universe.repairs[i].name);
    if (names.back() == name) {
      deed.repair = fault::RepairId(i);
      return deed;
    }
  }
  const fault::FaultId fault = loom.universe.find(name);
  if (!fault.is_none()) {
    deed.repair = loom.universe.faults[fault.index()].repair;
    return deed;
  }
  std::vector<std::size_t> fits;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (names[i].ends_with(" " + std::string(name))) fits.push_back(i);
  // The name of a part means the part, not its plug.
  const auto own = [&](std::size_t i) {
    const circuit::Item& item = loom.universe.repairs[i].item;
    return item.kind == circuit::Item::Kind::kPart && loom.loom.parts.at(item.index).name == name;
  };
  if (std::count_if(fits.begin(), fits.end(), own) == 1) fits = {*std::find_if(fits.begin(), fits.end(), own)};
  if (fits.size() == 1) {
    deed.repair = fault::RepairId(fits.front());
    return deed;
  }
  if (fits.size() > 1) {
    std::string list;
    for (const std::size_t i : fits) list += (list.empty() ? "" : ", ") + names[i];
    return make_error("did.unknown-name", "\"" + std::string(name) + "\" could be several repairs",
                      "say one of: " + list);
  }
  std::vector<std::string> all = names;
  for (const fault::Fault& f : loom.universe.faults) all.push_back(f.name);
  const std::string near = base::did_you_mean(name, all);
  return make_error("did.unknown-name", "there is no repair or fault named \"" + std::string(name) + "\"",
                    near.empty() ? "`halfsplit suspects` names the repairs" : near);
}

}  // namespace

base::Result<Deed> parse_deed(const LoadedLoom& loom, std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  if (text.empty()) return make_error("did.empty", "nothing is said to be done", "for example: unplug J4");
  const std::string_view whole = text;
  if (index_of(loom.loom.setups, whole) < loom.loom.setups.size()) return parse_setup(loom, whole, Deed::Kind::kMake);
  if (take(text, "make")) return parse_setup(loom, text, Deed::Kind::kMake);
  if (take(text, "undo")) return parse_setup(loom, text, Deed::Kind::kUndo);
  if (take(text, "unplug") || take(text, "unplugged")) return parse_plug(loom, text, Deed::Kind::kMake);
  if (take(text, "plug") || take(text, "plugged")) return parse_plug(loom, text, Deed::Kind::kUndo);
  if (take(text, "fit") || take(text, "fitted")) return parse_fit(loom, text, Deed::Kind::kMake);
  if (take(text, "remove") || take(text, "removed")) return parse_fit(loom, text, Deed::Kind::kUndo);
  if (take(text, "swap") || take(text, "swapped")) return parse_swap(loom, text, Deed::Kind::kMake);
  if (take(text, "put back")) return parse_swap(loom, text, Deed::Kind::kUndo);
  if (take(text, "repaired") || take(text, "repair") || take(text, "mended")) return parse_repair(loom, text);
  if (const std::optional<Deed> switched = parse_switched(loom, whole)) return *switched;
  std::vector<std::string> names = names_of(loom.loom.setups);
  for (const char* word : {"unplug", "plug", "fit", "remove", "swap", "put back", "repaired", "undo", "make"})
    names.emplace_back(word);
  std::string near = base::did_you_mean(whole.substr(0, whole.find(' ')), names);
  if (whole.ends_with(" off")) near = base::did_you_mean(whole, offs(loom));  // never the setup itself: its opposite
  return make_error(
      "did.unknown", "\"" + std::string(whole) + "\" is not something that can be done here",
      (near.empty() ? std::string() : near + " ") +
          "say a setup, undo SETUP, unplug/plug CONNECTOR, fit/remove VALUE at A B, swap/put back PART, repaired WHAT");
}

base::Result<std::vector<Deed>> parse_deeds(const LoadedLoom& loom, std::string_view text) {
  const base::Result<Deed> one = parse_deed(loom, text);
  if (one) return std::vector<Deed>{*one};
  std::string_view rest = text;
  while (rest.starts_with(' ')) rest.remove_prefix(1);
  while (rest.ends_with(' ')) rest.remove_suffix(1);
  if (take(rest, "repaired") || take(rest, "repair") || take(rest, "mended"))
    if (std::vector<Deed> several = parse_repairs(loom, rest); !several.empty()) return several;
  return one.diagnostics();
}

std::string format_deed(const LoadedLoom& loom, const Deed& deed) {
  if (deed.kind == Deed::Kind::kRepair) return "repaired " + loom.universe.repairs.at(deed.repair.index()).name;
  const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, deed.act);
  return deed.kind == Deed::Kind::kMake ? record.name : record.undo_name;
}

}  // namespace halfsplit::app
