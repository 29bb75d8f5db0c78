// SPDX-License-Identifier: Apache-2.0
#include "app/cautions.h"

#include <algorithm>

namespace halfsplit::app {

namespace {

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

std::string hazard_caution(circuit::Hazard hazard) {
  switch (hazard) {
    case circuit::Hazard::kNone:
      return "";
    case circuit::Hazard::kBrakes:
      return "Brake circuit: nothing bypassed here may be driven on the road; chock the wheels, mind stored air and "
             "spring chambers.";
    case circuit::Hazard::kSteering:
      return "Steering circuit: nothing bypassed here may be driven on the road.";
    case circuit::Hazard::kAirbag:
      return "Airbag or pretensioner circuit: never an ohmmeter or a test lamp; follow the maker's power-down and "
             "waiting time.";
    case circuit::Hazard::kHighVoltage:
      return "High voltage (orange cables): stop. Qualified people only.";
    case circuit::Hazard::kDangerousGoods:
      return "Dangerous goods vehicle: no sparks, no live work; follow the site's rules.";
  }
  return "";
}

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
  add(hazard_caution(point.hazard));
  if (!point.connector.is_none()) add(loom.connectors[point.connector.index()].caution);
  if (!point.part.is_none()) add(loom.parts[point.part.index()].caution);
  if (!point.module.is_none()) add(loom.modules[point.module.index()].caution);
  if (!point.place.is_none()) add(loom.places[point.place.index()].caution);
  return cautions;
}

std::vector<std::string> test_cautions(const LoadedLoom& loom, const circuit::Configuration& state,
                                       const candidates::Candidate& candidate) {
  std::vector<std::string> cautions;
  add_once(cautions, tool_caution(candidate.what.kind));
  for (const circuit::PointId p : {candidate.what.red, candidate.what.black})
    if (!p.is_none())
      for (const std::string& caution : cautions_at(loom.loom, loom.netlist.points[p.index()]))
        add_once(cautions, caution);
  for (const candidates::Act& act : candidate.needs) {
    if (!candidates::is_done(state, act) || act.kind != candidates::Act::Kind::kSetup) continue;
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, act);
    if (!record.caution.empty()) add_once(cautions, record.name + ": " + record.caution);
  }
  return cautions;
}

std::vector<std::string> repair_cautions(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  std::vector<std::string> cautions;
  for (const fault::RepairId id : repairs) {
    const fault::Repair& record = loom.universe.repairs[id.index()];
    add_once(cautions, hazard_caution(candidates::hazard_of(loom.loom, record.item)));
    if (!record.place.is_none()) add_once(cautions, loom.loom.places[record.place.index()].caution);
  }
  return cautions;
}

std::vector<std::string> leaving_cautions(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  std::vector<std::string> cautions;
  for (const fault::RepairId id : repairs) {
    const circuit::Hazard hazard = candidates::hazard_of(loom.loom, loom.universe.repairs[id.index()].item);
    const std::string what = leaving_word(hazard);
    if (!what.empty())
      add_once(cautions, "The " + what +
                             " may still be wrong: not back into service on a chance. The maker's own test first, and "
                             "whoever runs the vehicle decides, in writing.");
  }
  return cautions;
}

}  // namespace halfsplit::app
