// SPDX-License-Identifier: Apache-2.0
#include "app/cautions.h"

#include <algorithm>
#include <string_view>

#include "app/words.h"

namespace halfsplit::app {

namespace {

constexpr std::string_view kReleaseCaution =
    "A live test in a dangerous goods zone: not before whoever answers for the zone has released it, measured free of "
    "gas.";

void add_once(std::vector<std::string>& cautions, const std::string& text) {
  if (!text.empty() && std::find(cautions.begin(), cautions.end(), text) == cautions.end()) cautions.push_back(text);
}

// What must not be left on a chance; empty for what may.
std::string leaving_word(circuit::Hazard hazard) {
  switch (hazard) {
    case circuit::Hazard::kBrakes:
      return "brakes";
    case circuit::Hazard::kSteering:
      return "steering";
    case circuit::Hazard::kAirbag:
      return "airbag or belt tensioner";
    default:
      return "";
  }
}

}  // namespace

std::string tool_caution(evidence::Kind kind) {
  if (kind == evidence::Kind::kHeat)
    return "Hot air: not near fuel, gas, batteries that charge, tyres or airbags. Keep off at a hand's width and "
           "moving; "
           "insulation and plug housings bear about 80 degC, no more.";
  if (kind == evidence::Kind::kCool)
    return "Cold spray often burns and freezes skin: no flame, no spark, nothing hot near it; eyes and hands covered; "
           "not on hot glass.";
  return "";
}

std::vector<std::string> cautions_at(const circuit::Loom& loom, const circuit::Point& point) {
  std::vector<std::string> cautions;
  const auto add = [&](const std::string& text) { add_once(cautions, text); };
  for (const circuit::Hazard hazard : candidates::hazards_at(loom, point)) add(candidates::hazard_caution(hazard));
  if (!point.connector.is_none()) add(loom.connectors[point.connector.index()].caution);
  if (!point.part.is_none()) add(loom.parts[point.part.index()].caution);
  if (!point.module.is_none()) add(loom.modules[point.module.index()].caution);
  if (!point.lug.is_none()) add(loom.wires[point.lug.index()].caution);
  if (!point.place.is_none()) add(loom.places[point.place.index()].caution);
  return cautions;
}

std::vector<std::string> cautions_of(const circuit::Loom& loom, const circuit::Item& item) {
  using Kind = circuit::Item::Kind;
  std::vector<std::string> cautions;
  const auto add = [&](const std::string& text) { add_once(cautions, text); };
  const auto add_place = [&](circuit::PlaceId place) {
    if (!place.is_none()) add(loom.places[place.index()].caution);
  };
  for (const circuit::Hazard hazard : candidates::hazards_of(loom, item)) add(candidates::hazard_caution(hazard));
  switch (item.kind) {
    case Kind::kWire:
      add(loom.wires[item.index].caution);
      add_place(loom.wires[item.index].place);
      break;
    case Kind::kConnector:
      add(loom.connectors[item.index].caution);
      for (const circuit::PlaceId place : loom.connectors[item.index].place) add_place(place);
      break;
    case Kind::kSplice:
      add_place(loom.splices[item.index].place);
      break;
    case Kind::kStud:
      add_place(loom.studs[item.index].place);
      break;
    case Kind::kPart:
      add(loom.parts[item.index].caution);
      add_place(loom.parts[item.index].place);
      break;
    case Kind::kModule:
      add(loom.modules[item.index].caution);
      add_place(loom.modules[item.index].place);
      break;
    case Kind::kNone:
      break;
  }
  return cautions;
}

std::vector<std::string> act_cautions(const LoadedLoom& loom, const candidates::Act& act, bool make) {
  using Kind = candidates::Act::Kind;
  std::vector<std::string> cautions;
  if (act.kind == Kind::kSetup) {
    // Turning a key off needs no warning; lowering a body does.
    if (make || !candidates::is_electrical(loom.loom, act.setup))
      add_once(cautions, loom.loom.setups[act.setup.index()].caution);
    return cautions;
  }
  if (act.kind != Kind::kFit) return cautions_of(loom.loom, candidates::item_of(act));
  if (make && act.fitted.kind == circuit::Fitted::Kind::kLead) add_once(cautions, candidates::kLeadCaution);
  for (const circuit::PointId p : {act.fitted.a, act.fitted.b})
    for (const std::string& caution : cautions_at(loom.loom, loom.netlist.points[p.index()]))
      add_once(cautions, caution);
  return cautions;
}

std::vector<std::string> place_cautions(const circuit::Loom& loom, const candidates::Act& act) {
  std::vector<std::string> cautions;
  if (act.kind == candidates::Act::Kind::kUnplug)
    for (const circuit::PlaceId place : loom.connectors[act.connector.index()].place)
      if (!place.is_none()) add_once(cautions, loom.places[place.index()].caution);
  return cautions;
}

std::vector<std::string> test_cautions(const LoadedLoom& loom, const circuit::Configuration& state,
                                       const candidates::Candidate& candidate) {
  using Kind = circuit::Item::Kind;
  std::vector<std::string> cautions;
  const evidence::Observable& what = candidate.what;
  add_once(cautions, tool_caution(what.kind));
  const auto add_all = [&](const std::vector<std::string>& more) {
    for (const std::string& caution : more) add_once(cautions, caution);
  };
  for (const circuit::PointId p : {what.red, what.black})
    if (!p.is_none()) add_all(cautions_at(loom.loom, loom.netlist.points[p.index()]));
  if (candidates::needs_release(loom.loom, loom.netlist, what)) add_once(cautions, std::string(kReleaseCaution));
  if (evidence::provokes(what.kind) || what.kind == evidence::Kind::kClamp || what.kind == evidence::Kind::kInspect) {
    if (!what.wire.is_none()) add_all(cautions_of(loom.loom, {Kind::kWire, what.wire.value, ""}));
    if (!what.connector.is_none()) add_all(cautions_of(loom.loom, {Kind::kConnector, what.connector.value, ""}));
    if (!what.part.is_none()) add_all(cautions_of(loom.loom, {Kind::kPart, what.part.value, ""}));
    if (!what.module.is_none()) add_all(cautions_of(loom.loom, {Kind::kModule, what.module.value, ""}));
  }
  for (const candidates::Act& act : candidate.needs) {
    if (!candidates::is_done(state, act) || act.kind != candidates::Act::Kind::kSetup) continue;
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, act);
    if (!record.caution.empty()) add_once(cautions, record.name + ": " + record.caution);
  }
  return cautions;
}

std::vector<std::string> probe_cautions(const LoadedLoom& loom, const evidence::Observable& what) {
  std::vector<std::string> cautions;
  for (const circuit::PointId p : {what.red, what.black})
    if (!p.is_none())
      for (const circuit::Hazard hazard : candidates::hazards_at(loom.loom, loom.netlist.points[p.index()]))
        add_once(cautions, candidates::hazard_caution(hazard));
  if (candidates::needs_release(loom.loom, loom.netlist, what)) add_once(cautions, std::string(kReleaseCaution));
  return cautions;
}

std::vector<std::string> repair_cautions(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  std::vector<std::string> cautions;
  for (const fault::RepairId id : repairs) {
    const fault::Repair& record = loom.universe.repairs[id.index()];
    for (const std::string& caution : cautions_of(loom.loom, record.item)) add_once(cautions, caution);
    if (!record.place.is_none()) add_once(cautions, loom.loom.places[record.place.index()].caution);
  }
  return cautions;
}

std::string caution_lines(const std::vector<std::string>& cautions) {
  std::string text;
  for (const std::string& caution : cautions) text += wrap("  ! " + caution, 4) + "\n";
  return text;
}

std::vector<std::string> leaving_cautions(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  std::vector<std::string> cautions;
  for (const fault::RepairId id : repairs) {
    for (const circuit::Hazard hazard : candidates::hazards_of(loom.loom, loom.universe.repairs[id.index()].item)) {
      const std::string what = leaving_word(hazard);
      if (what.empty()) continue;
      add_once(cautions, "The " + what +
                             " may still be wrong: not back into service on a chance. The maker's own test first, and "
                             "whoever runs the vehicle decides, in writing.");
    }
  }
  return cautions;
}

bool warns_of_nothing(const circuit::Loom& loom) {
  const auto silent = [](const auto& list) {
    return std::all_of(list.begin(), list.end(),
                       [](const auto& one) { return one.hazard == circuit::Hazard::kNone && one.caution.empty(); });
  };
  const auto harmless = [](const auto& list) {
    return std::all_of(list.begin(), list.end(), [](const auto& one) { return one.hazard == circuit::Hazard::kNone; });
  };
  const bool quiet = std::all_of(loom.setups.begin(), loom.setups.end(),
                                 [](const circuit::Setup& setup) { return setup.caution.empty(); }) &&
                     std::all_of(loom.places.begin(), loom.places.end(),
                                 [](const circuit::Place& place) { return place.needs.empty(); });
  return loom.hazard == circuit::Hazard::kNone && quiet && silent(loom.places) && silent(loom.connectors) &&
         silent(loom.parts) && silent(loom.modules) && silent(loom.wires) && harmless(loom.studs) &&
         harmless(loom.splices);
}

}  // namespace halfsplit::app
