// SPDX-License-Identifier: Apache-2.0
// [modules.*]: plugs, pins with their roles, what sits inside. A plug's list of cavities is completed once the wires
// are known (loom_wires.cpp).
#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include "base/nearest.h"
#include "formats/loom_buses.h"
#include "formats/loom_cavities.h"
#include "formats/loom_sections.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using circuit::Module;
using circuit::ModulePin;
using circuit::PinRole;
using Kind = TomlValue::Kind;

constexpr double kAliveShare = 0.625;  // of system volts: 15 V of 24 V (common practice)

class ModuleReader {
 public:
  ModuleReader(LoomDraft& draft, const Declared& declared)
      : draft_(draft),
        index_(declared.index),
        module_(draft.loom.modules[declared.index]),
        reader_(draft.report, loom_table(TableKind::kModule), "module " + module_.name, declared.entry->value) {}

  void run() {
    read_manners();
    read_plugs();
    read_pins();
    read_inside();
    module_.gateway = read_gateway(draft_, module_, reader_);
    if (reader_.failed()) draft_.mark_flawed(module_.name);
  }

 private:
  void read_manners() {
    module_.place = draft_.place(reader_.placed_text("place"));
    module_.frame = draft_.frame(reader_.placed_text("frame"));
    module_.alive_above_v = reader_.maybe_number("alive_above_v").value_or(kAliveShare * draft_.loom.system_volts);
    module_.powered_with = draft_.setups(reader_.placed_texts("powered_with"));
    module_.answers = reader_.flag("answers");
    module_.shows_codes = reader_.flag("shows_codes");
    module_.address = reader_.identifier("address");
    module_.part_number = reader_.text("part_number");
    module_.caution = reader_.text("caution");
    module_.hazard = read_hazard(reader_);
    module_.rate = reader_.number("rate");
    module_.repair_minutes = read_minutes(reader_);
    module_.part_money = reader_.maybe_number("part_money");
  }

  circuit::ConnectorId add_plug(const std::string& plug) {
    const std::string name = plug.empty() ? module_.name : module_.name + "." + plug;
    circuit::Connector connector = make_plug(name, module_.place, module_.hazard, module_.caution, module_.where);
    connector.module = circuit::ModuleId(index_);
    const circuit::ConnectorId id(draft_.loom.connectors.size());
    draft_.loom.connectors.push_back(std::move(connector));
    plugs_.emplace(plug, id);
    return id;
  }

  void read_plugs() {
    const TomlValue* plugs = reader_.find("plugs");
    if (plugs == nullptr) return;
    if (plugs->kind != Kind::kTable)
      return reader_.error("bad-type", "plugs", "`plugs` of " + reader_.who() + " is a table",
                           "write [modules." + module_.name + ".plugs] and A = { pins = \"1-24\" } below it");
    for (const TomlEntry& entry : plugs->entries) read_plug(entry);
  }

  void read_plug(const TomlEntry& entry) {
    if (const std::optional<TextProblem> bad = check_name(entry.key))
      return draft_.report.error("bad-name", entry.at, std::max<std::size_t>(1, text::count_characters(entry.key)),
                                 bad->message, bad->hint);
    circuit::Connector& connector = draft_.loom.connectors[add_plug(entry.key).index()];
    TableReader plug(draft_.report, loom_table(TableKind::kPlug), "plug " + connector.name, entry.value);
    connector.rows = read_rows(draft_, plug).value_or(Rows{});
    read_plug_manners(plug, connector);
    if (plug.has("place")) connector.place[0] = connector.place[1] = draft_.place(plug.placed_text("place"));
    connector.where = draft_.report.kept_span(entry.at, text::count_characters(entry.key));
  }

  void read_pins() {
    const TomlValue* pins = reader_.find("pins");
    if (pins == nullptr) return;
    if (pins->kind != Kind::kTable)
      return reader_.error("bad-type", "pins", "`pins` of " + reader_.who() + " is a table",
                           "write [modules." + module_.name + ".pins] and \"A:1\" = \"supply\" below it");
    declared_plugs_ = !plugs_.empty();
    for (const TomlEntry& entry : pins->entries) read_pin(entry);
    const bool supplied = std::any_of(module_.pins.begin(), module_.pins.end(),
                                      [](const ModulePin& pin) { return pin.role == PinRole::kSupply; });
    if (supplied && reader_.has("powered_with"))
      reader_.error("two-ways", "powered_with", reader_.who() + " has a supply pin and powered_with",
                    "powered_with is for a module whose supply is not drawn: keep one of the two");
    check_followed();
    if (!reader_.failed()) check_seats(draft_, module_, places_);
  }

  // "A:14" -> plug and cavity; false when it is reported.
  bool read_pin_key(const TomlEntry& entry, ModulePin& pin) {
    const std::size_t colon = entry.key.find(':');
    const bool named = colon != std::string::npos;
    pin.plug = named ? entry.key.substr(0, colon) : "";
    pin.cavity = named ? entry.key.substr(colon + 1) : entry.key;
    std::optional<TextProblem> bad = check_name(pin.cavity, true);
    if (named && !bad) bad = check_name(pin.plug);
    const std::size_t length = std::max<std::size_t>(1, text::count_characters(entry.key));
    if (bad) {
      draft_.report.error("bad-pin", entry.at, length, bad->message, "write \"PLUG:CAVITY\" = ..., as in \"A:14\"");
      return false;
    }
    const bool mixed = plugs_.count("") > 0 ? named : (!plugs_.empty() && !named);
    if (mixed)
      draft_.report.error("mixed-plugs", entry.at, length,
                          module_.name + " has pins with and without the name of a plug",
                          "name the plug of each pin, as in \"A:14\"");
    return !mixed && find_plug(entry, pin, length);
  }

  bool find_plug(const TomlEntry& entry, ModulePin& pin, std::size_t length) {
    const auto known = plugs_.find(pin.plug);
    if (known == plugs_.end() && declared_plugs_) {
      std::vector<std::string> names;
      for (const auto& [name, id] : plugs_) names.push_back(name);
      const std::string near = base::did_you_mean(pin.plug, names);
      draft_.report.error("unknown-plug", entry.at, length, module_.name + " declares no plug \"" + pin.plug + "\"",
                          near.empty() ? "declare it in [modules." + module_.name + ".plugs]" : near);
      return false;
    }
    pin.connector = known == plugs_.end() ? add_plug(pin.plug) : known->second;
    return check_cavity(entry, pin, length);
  }

  bool check_cavity(const TomlEntry& entry, const ModulePin& pin, std::size_t length) {
    const circuit::Connector& connector = draft_.loom.connectors[pin.connector.index()];
    bool known = connector.rows.empty();
    for (const auto& row : connector.rows) known = known || std::find(row.begin(), row.end(), pin.cavity) != row.end();
    if (!known)
      draft_.report.error("unknown-cavity", entry.at, length, "plug " + connector.name + " has no cavity " + pin.cavity,
                          "its list of pins or rows says otherwise");
    return known;
  }

  void read_pin(const TomlEntry& entry) {
    ModulePin pin;
    if (!read_pin_key(entry, pin)) return;
    pin.where = draft_.report.kept_span(entry.at, text::count_characters(entry.key));
    followed_.emplace_back();
    places_.push_back({entry.at, std::max<std::size_t>(1, text::count_characters(entry.key))});
    if (entry.value.kind == Kind::kText)
      read_short_role(entry.value, pin);
    else
      read_pin_table(entry, pin);
    draft_.remember_pin(index_, pin.plug, pin.cavity, module_.pins.size());
    draft_.count_items(1, entry.at);
    module_.pins.push_back(std::move(pin));
  }

  void read_short_role(const TomlValue& value, ModulePin& pin) {
    if (const std::optional<PinRole> role = circuit::find_pin_role(value.text)) {
      pin.role = *role;
      if (is_bus_role(pin.role)) pin.bus = find_pin_bus(draft_, module_, pin, std::nullopt, places_.back());
      return;
    }
    const std::vector<std::string_view>& words = loom_table(TableKind::kPin).find("role")->words;
    draft_.report.error("bad-word", value.at, caret_length(value),
                        "\"" + text::shorten(value.text, 60) + "\" is no role of a pin",
                        draft_.report.full() ? "" : suggest(value.text, words));
  }

  void read_pin_table(const TomlEntry& entry, ModulePin& pin) {
    TableReader reader(draft_.report, loom_table(TableKind::kPin), "pin " + entry.key + " of " + module_.name,
                       entry.value);
    const std::optional<std::size_t> role = reader.word("role");
    if (!role) return;
    pin.role = static_cast<PinRole>(*role);
    reader.check_owner(circuit::pin_role_word(pin.role));
    pin.draw_a = reader.number("draw_a");
    pin.pull_up_ohm = reader.number("pull_up_ohm");
    pin.pull_up_v = reader.number("pull_up_v");
    pin.pull_down_ohm = reader.number("pull_down_ohm");
    pin.input_ohm = reader.number("input_ohm");
    pin.volt = reader.number("volt");
    pin.ohm = reader.number("ohm");
    pin.limit_a = reader.number("limit_a");
    pin.on_with = draft_.setups(reader.placed_texts("on_with"));
    pin.follows = reader.text("follows");
    pin.follows_v = reader.number("follows_v");
    pin.follows_below = reader.flag("follows_below");
    pin.unpowered_ohm = reader.number("unpowered_ohm");
    pin.commander = reader.flag("commander");
    if (is_bus_role(pin.role)) pin.bus = find_pin_bus(draft_, module_, pin, reader.placed_text("bus"), places_.back());
    if (pin.commander && !pin.bus.is_none() && draft_.loom.buses[pin.bus.index()].kind != circuit::BusKind::kLin)
      reader.error("bad-commander", "commander", reader.who() + " commands a bus that is no LIN bus",
                   "a LIN bus has a commander, and no other bus: take the key away");
    if (reader.has("follows")) followed_.back() = PlacedText{pin.follows, reader.at("follows")};
    if (!reader.has("follows") && (reader.has("follows_v") || reader.has("follows_below")))
      reader.error("missing-value", reader.has("follows_v") ? "follows_v" : "follows_below",
                   reader.who() + " has a threshold and follows nothing", "add follows = \"PLUG:CAVITY\"");
  }

  // Only once all pins are known.
  void check_followed() {
    for (const std::optional<PlacedText>& name : followed_) {
      if (!name || name->text.empty()) continue;
      if (reader_.failed()) draft_.mark_flawed(module_.name);
      const std::optional<std::size_t> pin = draft_.pin(circuit::ModuleId(index_), *name);
      if (pin && module_.pins[*pin].role != PinRole::kInput)
        draft_.report.error("wrong-pin", name->at, caret_length(*name),
                            "pin " + name->text + " of " + module_.name + " is no input, so nothing can follow it",
                            "follow a pin whose role is input");
    }
  }

  void read_inside() {
    const TomlValue* inside = reader_.find("inside");
    if (inside == nullptr) return;
    if (inside->kind != Kind::kList)
      return reader_.error("bad-type", "inside", "`inside` of " + reader_.who() + " is a list of tables",
                           "write inside = [{ kind = \"terminator\", pins = [\"C:1\", \"C:2\"] }]");
    for (const TomlValue& item : inside->items) read_inside_item(item);
  }

  void read_inside_item(const TomlValue& item) {
    TableReader reader(draft_.report, loom_table(TableKind::kInside), "a part inside " + module_.name, item);
    circuit::ModuleInside inside;
    inside.kind = reader.word("kind") == 1U ? circuit::PartKind::kResistor : circuit::PartKind::kTerminator;
    inside.ohm = reader.number("ohm");
    inside.tolerance_percent = reader.number("tolerance_percent");
    inside.where = draft_.report.kept_span(item.at, 1);
    const std::vector<PlacedText> names = reader.placed_texts("pins");
    if (inside.kind == circuit::PartKind::kResistor && !reader.has("ohm"))
      reader.error("missing-value", "kind", reader.who() + " is a resistor without ohm", "write its ohm");
    if (!reader.has("pins") || reader.failed()) return;
    if (names.size() != 2 || names[0].text == names[1].text)
      return reader.error("bad-pin", "pins", reader.who() + " sits between two different pins",
                          "write pins = [\"C:1\", \"C:2\"]");
    const auto a = draft_.pin(circuit::ModuleId(index_), names[0]);
    const auto b = draft_.pin(circuit::ModuleId(index_), names[1]);
    if (!a || !b) return;
    inside.pin_a = *a;
    inside.pin_b = *b;
    module_.inside.push_back(std::move(inside));
  }

  LoomDraft& draft_;
  std::size_t index_;
  Module& module_;
  TableReader reader_;
  std::map<std::string, circuit::ConnectorId> plugs_;
  bool declared_plugs_ = false;
  std::vector<std::optional<PlacedText>> followed_;  // of each pin
  std::vector<PinPlace> places_;                     // of each pin
};

}  // namespace

void read_modules(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) ModuleReader(draft, declared).run();
}

}  // namespace halfsplit::formats
