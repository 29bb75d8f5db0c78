// SPDX-License-Identifier: Apache-2.0
// States of the vehicle that cannot be made, places no hand can reach, switches and drivers that nothing moves.
#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "circuit/oddity_checks.h"

namespace halfsplit::circuit {

namespace {

class SetupCheck {
 public:
  SetupCheck(const Loom& loom, OddityList& list) : loom_(loom), list_(list) {}

  void run() {
    for (std::size_t i = 0; i < loom_.setups.size(); ++i)
      complain("impossible-setup", loom_.setups[i].where, "setup " + loom_.setups[i].name + " can never be made",
               {SetupId(i)});
    for (const Place& place : loom_.places)
      complain("unreachable-place", place.where, "no hand can reach place " + place.name, place.needs);
    for (const Module& module : loom_.modules) check_module(module);
    for (const Part& part : loom_.parts)
      complain("never-together", part.where, part.name + " can never run", part.runs_with);
    for (const Code& code : loom_.codes)
      complain("never-together", code.where, "the monitor of code " + code.name + " can never run", code.needs);
    complain("never-together", {}, "the state in use can never be made", loom_.in_use);
    check_switches();
    check_unused();
  }

 private:
  // All that the setups need, themselves included.
  std::set<SetupId> closure(const std::vector<SetupId>& setups) const {
    std::set<SetupId> all;
    std::vector<SetupId> stack(setups.begin(), setups.end());
    while (!stack.empty()) {
      const SetupId setup = stack.back();
      stack.pop_back();
      if (!all.insert(setup).second) continue;
      const std::vector<SetupId>& needs = loom_.setups[setup.index()].needs;
      stack.insert(stack.end(), needs.begin(), needs.end());
    }
    return all;
  }

  // Why these cannot be made together; empty when they can.
  std::string clash(const std::vector<SetupId>& setups) const {
    const std::set<SetupId> all = closure(setups);
    std::map<PartId, std::pair<bool, SetupId>> positions;
    for (const SetupId id : all) {
      const Setup& setup = loom_.setups[id.index()];
      for (const SetupId other : setup.excludes)
        if (all.count(other) > 0)
          return setup.name + " and " + loom_.setups[other.index()].name + " exclude each other";
      for (const auto& [part, closed] : setup.sets) {
        const auto [at, fresh] = positions.emplace(part, std::pair(closed, id));
        if (!fresh && at->second.first != closed)
          return setup.name + " and " + loom_.setups[at->second.second.index()].name + " set switch " +
                 loom_.parts[part.index()].name + " both ways";
      }
    }
    return "";
  }

  void complain(const std::string& code, const base::Span& where, const std::string& what,
                const std::vector<SetupId>& setups) {
    if (setups.empty()) return;
    if (const std::string why = clash(setups); !why.empty())
      list_.warn(code, where, what + ": " + why, "both are needed at once; take one need or one exclusion away");
  }

  void check_module(const Module& module) {
    complain("never-together", module.where, "module " + module.name + " can never be powered", module.powered_with);
    for (const ModulePin& pin : module.pins) {
      if (pin.role != PinRole::kHighSide && pin.role != PinRole::kLowSide) continue;
      const std::string name = "driver " + module.name + (pin.plug.empty() ? "" : "." + pin.plug) + ":" + pin.cavity;
      if (pin.on_with.empty() && pin.follows.empty())
        list_.warn("driver-never-on", pin.where, name + " is never commanded on",
                   "say with which setups it is on (on_with), or which input it follows");
      complain("never-together", pin.where, name + " can never be on", pin.on_with);
    }
  }

  void check_switches() {
    std::set<PartId> moved;
    for (const Setup& setup : loom_.setups)
      for (const auto& [part, closed] : setup.sets) moved.insert(part);
    for (std::size_t i = 0; i < loom_.parts.size(); ++i) {
      const Part& part = loom_.parts[i];
      if (part.kind != PartKind::kSwitch || moved.count(PartId(i)) > 0) continue;
      list_.warn("switch-never-moved", part.where,
                 "no setup moves switch " + part.name + "; it stays " + (part.normally_closed ? "closed" : "open"),
                 "name it under `sets` of the setup that moves it");
    }
  }

  void use(const std::vector<SetupId>& setups) { used_.insert(setups.begin(), setups.end()); }

  // A setup that moves no switch and that nothing needs has no effect at all.
  void check_unused() {
    for (const Setup& setup : loom_.setups) use(setup.needs);
    for (const Place& place : loom_.places) use(place.needs);
    for (const Part& part : loom_.parts) use(part.runs_with);
    for (const Code& code : loom_.codes) use(code.needs);
    for (const Module& module : loom_.modules) {
      use(module.powered_with);
      for (const ModulePin& pin : module.pins) use(pin.on_with);
    }
    for (std::size_t i = 0; i < loom_.setups.size(); ++i)
      if (loom_.setups[i].sets.empty() && used_.count(SetupId(i)) == 0)
        list_.note("unused-setup", loom_.setups[i].where, "nothing needs setup " + loom_.setups[i].name,
                   "name it where it is needed, or leave it out");
    check_unused_places();
  }

  void check_unused_places() {
    std::set<PlaceId> used;
    for (const Connector& connector : loom_.connectors) used.insert(connector.place, connector.place + 2);
    const auto add = [&](const auto& list) {
      for (const auto& item : list) used.insert(item.place);
    };
    add(loom_.splices);
    add(loom_.studs);
    add(loom_.frames);
    add(loom_.wires);
    add(loom_.parts);
    add(loom_.modules);
    for (std::size_t i = 0; i < loom_.places.size(); ++i)
      if (used.count(PlaceId(i)) == 0)
        list_.note("unused-place", loom_.places[i].where, "nothing is at place " + loom_.places[i].name,
                   "say what is there, or leave it out");
  }

  const Loom& loom_;
  OddityList& list_;
  std::set<SetupId> used_;
};

}  // namespace

void check_setups(const Loom& loom, OddityList& list) { SetupCheck(loom, list).run(); }

}  // namespace halfsplit::circuit
