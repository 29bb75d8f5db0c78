// SPDX-License-Identifier: Apache-2.0
#include "formats/loom_buses.h"

#include <algorithm>
#include <string>
#include <utility>
#include <variant>

#include "circuit/bus_kinds.h"
#include "circuit/part_kinds.h"
#include "formats/loom_sections.h"
#include "formats/point_index.h"

namespace halfsplit::formats {

namespace {

using circuit::Bus;
using circuit::BusId;
using circuit::Module;
using circuit::ModulePin;
using circuit::PinRole;
using Kind = TomlValue::Kind;

constexpr std::string_view kImpliedName = "CAN";

bool two_wires(const Bus& bus) { return circuit::bus_kind(bus.kind).two_wires; }
bool of_two_wires(PinRole role) { return role != PinRole::kBusWire; }

// "pin A:3 of ECU"
std::string pin_of(const Module& module, const ModulePin& pin) {
  return "pin " + pin_text(pin.plug, pin.cavity) + " of " + module.name;
}

std::string role_text(const ModulePin& pin) { return std::string(circuit::pin_role_word(pin.role)); }

std::string wires_text(bool two) { return two ? "two wires" : "one wire"; }

// --- [buses] ---

void read_bus(LoomDraft& draft, const Declared& declared) {
  Bus& bus = draft.loom.buses[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kBus), "bus " + bus.name, declared.entry->value);
  const circuit::BusKindRecord& kind = circuit::bus_kinds()[reader.word("kind").value_or(0)];
  bus.kind = kind.kind;
  bus.bit_rate = reader.maybe_number("bit_rate").value_or(kind.bit_rate);
  bus.sample_percent = reader.maybe_number("sample_percent").value_or(kind.sample_percent);
  bus.dominant_percent = reader.number("dominant_percent");
  if (reader.failed()) draft.mark_flawed_bus(bus.name);
}

// --- the code reader ---

class BusReaderPoints {
 public:
  explicit BusReaderPoints(LoomDraft& draft) : draft_(draft), index_(draft.loom) {}

  void read(Bus& bus, const TomlValue& value) {
    std::vector<const TomlValue*> points;
    if (value.kind == Kind::kText) points.push_back(&value);
    for (const TomlValue& item : value.items) points.push_back(&item);
    const bool texts =
        std::all_of(points.begin(), points.end(), [](const TomlValue* point) { return point->kind == Kind::kText; });
    if (points.empty() || !texts)
      return draft_.report.error("bad-type", value.at, caret_length(value),
                                 "`reader` of bus " + bus.name + " is a point or a list of two, and here stands " +
                                     std::string(kind_name(value.kind)),
                                 "write reader = [\"X9:C\", \"X9:D\"], high and low");
    if (draft_.is_flawed_bus(bus.name)) return;
    if (points.size() != (two_wires(bus) ? 2U : 1U))
      return draft_.report.error(
          "bad-reader", value.at, caret_length(value),
          "bus " + bus.name + " has " + wires_text(two_wires(bus)) + ", and its reader " +
              std::to_string(points.size()) + (points.size() == 1 ? " point" : " points"),
          two_wires(bus) ? "write both points, high and low: [\"X9:C\", \"X9:D\"]" : "write one point: \"X9:C\"");
    bus.reader_high = find(*points[0]);
    if (points.size() == 2) bus.reader_low = find(*points[1]);
  }

 private:
  std::optional<circuit::EndPoint> find(const TomlValue& value) {
    const std::variant<PointPieces, TextProblem> split = split_point(value.text);
    if (const auto* bad = std::get_if<TextProblem>(&split))
      return report_problem(draft_.report, value, *bad), std::nullopt;
    const PointPieces& pieces = std::get<PointPieces>(split);
    index_.set_hints(!draft_.report.full());
    const std::variant<FoundPoint, TextProblem> found = index_.find_point(pieces);
    if (const auto* point = std::get_if<FoundPoint>(&found)) return point->end;
    if (draft_.is_flawed(pieces.head.substr(0, pieces.head.find('.')))) return std::nullopt;
    const TextProblem& bad = std::get<TextProblem>(found);
    if (draft_.report.damaged())
      draft_.report.error_unless_damaged(bad.code, value.at, 1, bad.message, bad.hint);
    else
      report_problem(draft_.report, value, bad);
    return std::nullopt;
  }

  LoomDraft& draft_;
  PointIndex index_;
};

// --- pins ---

BusId imply_bus(LoomDraft& draft) {
  Bus bus;
  bus.name = kImpliedName;
  bus.declared = false;
  draft.buses.add(bus.name, {draft.loom.buses.size(), {0, 0, 0}});
  draft.loom.buses.push_back(std::move(bus));
  return BusId(draft.loom.buses.size() - 1);
}

BusId find_named(LoomDraft& draft, const Module& module, const ModulePin& pin, const PlacedText& named) {
  const BusId id = draft.bus(named);
  if (id.is_none()) return id;
  const Bus& bus = draft.loom.buses[id.index()];
  if (draft.is_flawed_bus(bus.name) || two_wires(bus) == of_two_wires(pin.role)) return id;
  draft.report.error(
      "wrong-bus", named.at, caret_length(named),
      "bus " + bus.name + " (" + std::string(circuit::bus_kind(bus.kind).word) + ") has " + wires_text(two_wires(bus)) +
          ", and " + pin_of(module, pin) + " is its " + role_text(pin),
      two_wires(bus) ? "its pins have the roles can-high and can-low" : "its pins have the role bus-wire");
  return {};
}

BusId find_only(LoomDraft& draft, const Module& module, const ModulePin& pin, PinPlace place) {
  std::vector<BusId> fitting;
  std::vector<std::string_view> names;
  for (std::size_t i = 0; i < draft.loom.buses.size(); ++i) {
    const Bus& bus = draft.loom.buses[i];
    if (draft.is_flawed_bus(bus.name)) return {};
    if (two_wires(bus) != of_two_wires(pin.role)) continue;
    fitting.emplace_back(i);
    names.push_back(bus.name);
  }
  if (fitting.size() == 1) return fitting.front();
  const std::string what = pin_of(module, pin) + " (" + role_text(pin) + ")";
  if (fitting.empty())
    draft.report.error_unless_damaged(
        "no-bus", place.at, place.length,
        what + " is on no bus: none of " + wires_text(of_two_wires(pin.role)) + " is declared",
        of_two_wires(pin.role) ? "declare it: [buses.NAME] with kind = \"can\""
                               : "declare it: [buses.NAME] with kind = \"lin\" or "
                                 "\"can-single-wire\"");
  else
    draft.report.error("missing-bus", place.at, place.length, what + " does not say which bus it is on",
                       "add bus = " + list_words(names));
  return {};
}

}  // namespace

bool is_bus_role(PinRole role) {
  return role == PinRole::kCanHigh || role == PinRole::kCanLow || role == PinRole::kBusWire;
}

BusId find_pin_bus(LoomDraft& draft, const Module& module, const ModulePin& pin, const std::optional<PlacedText>& named,
                   PinPlace place) {
  if (draft.loom.buses.empty() && of_two_wires(pin.role) && !draft.report.damaged()) imply_bus(draft);
  return named ? find_named(draft, module, pin, *named) : find_only(draft, module, pin, place);
}

bool has_seat(const Module& module, BusId bus) {
  const auto has = [&](PinRole role) {
    return std::any_of(module.pins.begin(), module.pins.end(),
                       [&](const ModulePin& pin) { return pin.role == role && pin.bus == bus; });
  };
  return has(PinRole::kBusWire) || (has(PinRole::kCanHigh) && has(PinRole::kCanLow));
}

void check_seats(LoomDraft& draft, const Module& module, const std::vector<PinPlace>& places) {
  const auto other_role = [](PinRole role) {
    return role == PinRole::kCanHigh ? PinRole::kCanLow : (role == PinRole::kCanLow ? PinRole::kCanHigh : role);
  };
  for (std::size_t i = 0; i < module.pins.size() && i < places.size(); ++i) {
    const ModulePin& pin = module.pins[i];
    if (!is_bus_role(pin.role) || pin.bus.is_none()) continue;
    const Bus& bus = draft.loom.buses[pin.bus.index()];
    const auto find = [&](PinRole role, std::size_t end) {
      for (std::size_t k = 0; k < end; ++k)
        if (module.pins[k].role == role && module.pins[k].bus == pin.bus) return true;
      return false;
    };
    const auto say = [&](std::string_view code, std::string message, std::string hint, std::string_view implied) {
      if (bus.declared)
        draft.report.error(code, places[i].at, places[i].length, std::move(message), std::move(hint));
      else
        draft.report.warning(code, places[i].at, places[i].length, message + "; " + std::string(implied),
                             std::move(hint));
    };
    if (find(pin.role, i))
      say("bus-twice", module.name + " has a second " + role_text(pin) + " pin on bus " + bus.name,
          "a module sits on a bus once: name another bus with bus = \"NAME\", or give the pin another role",
          "it takes part with the last one");
    else if (!find(other_role(pin.role), module.pins.size()))
      say("half-seat",
          module.name + " has a " + role_text(pin) + " pin on bus " + bus.name + " and no " +
              std::string(circuit::pin_role_word(other_role(pin.role))) + " pin",
          "add the other pin, or give this one another role", "it takes no part");
  }
}

std::vector<BusId> read_gateway(LoomDraft& draft, const Module& module, TableReader& reader) {
  std::vector<BusId> buses;
  const std::vector<PlacedText> names = reader.placed_texts("gateway");
  if (!reader.has("gateway")) return buses;
  const bool judged = !reader.failed();  // else it may sit where its pins were not understood
  for (const PlacedText& name : names) {
    const BusId id = draft.bus(name);
    if (id.is_none()) return {};
    if (judged && !has_seat(module, id)) {
      draft.report.error("no-seat", name.at, caret_length(name),
                         module.name + " passes messages on to bus " + name.text + ", and sits not on it",
                         "give it pins on that bus, or take the name away");
      return {};
    }
    if (std::find(buses.begin(), buses.end(), id) == buses.end()) buses.push_back(id);
  }
  if (buses.size() >= 2 || !judged) return buses;
  reader.error("bad-gateway", "gateway", "`gateway` of " + reader.who() + " names fewer than two buses",
               "name the buses between which it passes messages on, or take the key away");
  return {};
}

void read_buses(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_bus(draft, declared);
}

void read_bus_readers(LoomDraft& draft, const Entries& entries) {
  std::optional<BusReaderPoints> points;
  for (const Declared& declared : entries) {
    const TomlEntry* reader = declared.entry->value.find("reader");
    if (reader == nullptr) continue;
    if (!points) points.emplace(draft);
    points->read(draft.loom.buses[declared.index], reader->value);
  }
}

}  // namespace halfsplit::formats
