// SPDX-License-Identifier: Apache-2.0
#include "predict/recorded.h"

#include <algorithm>

#include "base/check.h"
#include "predict/bus.h"

namespace halfsplit::predict {

namespace {

using circuit::ModuleId;
using evidence::Kind;

// All ours.
constexpr double kShownThroughout = 0.3;  // of the whole recording
constexpr double kShownForAWhile = 0.4;   // it came and went while it was recorded
constexpr double kStrayHeard = 0.005;     // another address, a recording of too little time
constexpr double kStrayQuiet = 0.002;     // a group quiet for some other reason
constexpr double kStrayHears = 0.01;
constexpr double kMarginalQuiet = 0.3;  // messages that come and go by themselves, at even odds
constexpr double kClaims = 0.95;        // a module that lost its supply claims its address when it is back
constexpr double kClaimsAnyway = 0.05;  // one that did not: after bus-off, say

bool may_come_and_go(const Scene& scene, const std::vector<fault::FaultId>& faults) {
  return std::any_of(faults.begin(), faults.end(), [&](fault::FaultId id) {
    return scene.universe.faults.at(id.index()).kind == fault::FaultKind::kIntermittent;
  });
}

RecordedChances heard(const Scene& scene, CircuitView& view, const evidence::Observable& o) {
  const double yes = kStrayHeard + (1.0 - 2.0 * kStrayHeard) * heard_at(scene, view, o.module, tap_of(scene, o));
  return {yes, 1.0 - yes, 0.0};
}

RecordedChances hears(const Scene& scene, CircuitView& view, const evidence::Observable& o) {
  const double arrives = arrival(scene, view, o.from, o.module);
  const double yes = kStrayHears + (1.0 - 2.0 * kStrayHears) * arrives;
  return {yes, 1.0 - yes, 0.0};
}

// All of the group unheard and all the others heard at this moment; and who of the group has no supply.
RecordedChances quiet(const Scene& scene, CircuitView& view, const evidence::Observable& o,
                      const std::vector<fault::FaultId>& faults) {
  const BusTap tap = tap_of(scene, o);
  double all_quiet = 1.0, by_itself = kMarginalQuiet, dead = 0.0;
  for (const ModuleId module : o.together) {
    const double share = heard_at(scene, view, module, tap);
    all_quiet *= 1.0 - share;
    by_itself *= 4.0 * share * (1.0 - share);
    dead += view.alive(module) ? 0.0 : 1.0 / static_cast<double>(o.together.size());
  }
  double others = 1.0;
  for (const ModuleId module : o.meanwhile) others *= heard_at(scene, view, module, tap);
  // A fault that stays lets nobody go quiet for a while, but what is marginal comes and goes by itself.
  const double seen = others * (may_come_and_go(scene, faults) ? all_quiet : by_itself);
  const double gap = kStrayQuiet + (1.0 - 2.0 * kStrayQuiet) * seen;
  const double claims = kClaimsAnyway + (kClaims - kClaimsAnyway) * dead;
  return {gap * claims, gap * (1.0 - claims), 1.0 - gap};
}

}  // namespace

BusTap tap_of(const Scene& scene, const evidence::Observable& o) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(o.bus.index());
  if (o.red.is_none()) return {o.bus, wiring.reader_high, wiring.reader_low};
  const auto node = [&](circuit::PointId point) {
    return point.is_none() ? circuit::NodeId() : scene.netlist.points.at(point.index()).node;
  };
  return {o.bus, node(o.red), node(o.black)};
}

double share_shown(Kind kind) {
  switch (kind) {
    case Kind::kHeard:
      return kShownThroughout;
    case Kind::kQuiet:
      return kShownForAWhile;
    default:
      return 0.5;
  }
}

RecordedChances recorded_chances(const Scene& scene, CircuitView& view, const evidence::Observable& observable,
                                 const std::vector<fault::FaultId>& faults) {
  switch (observable.kind) {
    case Kind::kHeard:
      return heard(scene, view, observable);
    case Kind::kQuiet:
      return quiet(scene, view, observable, faults);
    default:
      HS_CHECK(observable.kind == Kind::kHears, "told by a recording");
      return hears(scene, view, observable);
  }
}

}  // namespace halfsplit::predict
