// SPDX-License-Identifier: Apache-2.0
#include "candidates/hazards.h"

#include <algorithm>
#include <array>
#include <initializer_list>

namespace halfsplit::candidates {

namespace {

using circuit::Hazard;
using circuit::Loom;
using circuit::PlaceId;
using ItemKind = circuit::Item::Kind;

Hazard own_hazard(const Loom& loom, const circuit::Item& item) {
  switch (item.kind) {
    case ItemKind::kWire:
      return loom.wires.at(item.index).hazard;
    case ItemKind::kConnector: {
      const circuit::Connector& c = loom.connectors.at(item.index);
      if (c.hazard != Hazard::kNone) return c.hazard;
      if (!c.part.is_none()) return loom.parts.at(c.part.index()).hazard;
      return c.module.is_none() ? Hazard::kNone : loom.modules.at(c.module.index()).hazard;
    }
    case ItemKind::kSplice:
      return loom.splices.at(item.index).hazard;
    case ItemKind::kStud:
      return loom.studs.at(item.index).hazard;
    case ItemKind::kPart:
      return loom.parts.at(item.index).hazard;
    case ItemKind::kModule:
      return loom.modules.at(item.index).hazard;
    case ItemKind::kNone:
      return Hazard::kNone;
  }
  return Hazard::kNone;
}

// An inline plug lies in one place on each side. No list: this is asked for every element of a drawing.
std::array<PlaceId, 2> places_of(const Loom& loom, const circuit::Item& item) {
  switch (item.kind) {
    case ItemKind::kWire:
      return {loom.wires.at(item.index).place, {}};
    case ItemKind::kConnector:
      return {loom.connectors.at(item.index).place[0], loom.connectors.at(item.index).place[1]};
    case ItemKind::kSplice:
      return {loom.splices.at(item.index).place, {}};
    case ItemKind::kStud:
      return {loom.studs.at(item.index).place, {}};
    case ItemKind::kPart:
      return {loom.parts.at(item.index).place, {}};
    case ItemKind::kModule:
      return {loom.modules.at(item.index).place, {}};
    case ItemKind::kNone:
      break;
  }
  return {};
}

Hazard of_place(const Loom& loom, PlaceId place) {
  return place.is_none() ? Hazard::kNone : loom.places.at(place.index()).hazard;
}

std::vector<Hazard> each_once(std::initializer_list<Hazard> all) {
  std::vector<Hazard> list;
  for (const Hazard hazard : all)
    if (hazard != Hazard::kNone && std::find(list.begin(), list.end(), hazard) == list.end()) list.push_back(hazard);
  return list;
}

}  // namespace

std::vector<Hazard> hazards_at(const Loom& loom, const circuit::Point& point) {
  return each_once({point.hazard, of_place(loom, point.place), loom.hazard});
}

std::vector<Hazard> hazards_of(const Loom& loom, const circuit::Item& item) {
  const std::array<PlaceId, 2> places = places_of(loom, item);
  return each_once({own_hazard(loom, item), of_place(loom, places[0]), of_place(loom, places[1]), loom.hazard});
}

bool carries(const Loom& loom, const circuit::Point& point, Hazard hazard) {
  return point.hazard == hazard || of_place(loom, point.place) == hazard || loom.hazard == hazard;
}

bool carries(const Loom& loom, const circuit::Item& item, Hazard hazard) {
  if (own_hazard(loom, item) == hazard || loom.hazard == hazard) return true;
  const std::array<PlaceId, 2> places = places_of(loom, item);
  return of_place(loom, places[0]) == hazard || of_place(loom, places[1]) == hazard;
}

std::string hazard_caution(Hazard hazard) {
  switch (hazard) {
    case Hazard::kNone:
      return "";
    case Hazard::kBrakes:
      return "Brake circuit: nothing bypassed here may be driven on the road; chock the wheels, mind stored air and "
             "spring chambers.";
    case Hazard::kSteering:
      return "Steering circuit: nothing bypassed here may be driven on the road.";
    case Hazard::kAirbag:
      return "Airbag or pretensioner circuit: never an ohmmeter or a test lamp; follow the maker's power-down and "
             "waiting time.";
    case Hazard::kHighVoltage:
      return "High voltage (orange cables): stop. Qualified people only.";
    case Hazard::kDangerousGoods:
      return "Dangerous goods vehicle: no sparks, no live work; follow the site's rules.";
  }
  return "";
}

}  // namespace halfsplit::candidates
