// SPDX-License-Identifier: Apache-2.0
#include "candidates/state.h"

#include <algorithm>

#include "base/number.h"
#include "circuit/part_kinds.h"

namespace halfsplit::candidates {

namespace {

using circuit::Configuration;
using circuit::Loom;
using circuit::SetupId;

Act setup_act(SetupId id) {
  Act act;
  act.setup = id;
  return act;
}

bool contains(const std::vector<SetupId>& list, SetupId id) {
  return std::find(list.begin(), list.end(), id) != list.end();
}

void add_access(const Loom& loom, SetupId setup, std::vector<SetupId>& order) {
  if (contains(order, setup)) return;
  for (const SetupId need : loom.setups.at(setup.index()).needs) add_access(loom, need, order);
  order.push_back(setup);
}

std::vector<Act> needs_of_place(const Loom& loom, circuit::PlaceId place) {
  std::vector<Act> needs;
  for (const SetupId setup : access(loom, place)) needs.push_back(setup_act(setup));
  return needs;
}

ActRecord describe_setup(const Loom& loom, const Act& act) {
  const circuit::Setup& setup = loom.setups.at(act.setup.index());
  ActRecord record;
  record.act = act;
  record.name = setup.name;
  record.undo_name = "undo " + setup.name;
  record.do_minutes = setup.do_minutes;
  record.undo_minutes = setup.undo_minutes;
  for (const SetupId need : setup.needs) record.needs.push_back(setup_act(need));
  for (const SetupId other : setup.excludes) record.excludes.push_back(setup_act(other));
  record.caution = setup.caution;
  record.leave = setup.leave;
  return record;
}

std::string joined_cautions(const std::string& a, const std::string& b) {
  if (a.empty() || a == b) return b;
  return b.empty() ? a : a + " " + b;
}

ActRecord describe_unplug(const Loom& loom, const Act& act) {
  const circuit::Connector& c = loom.connectors.at(act.connector.index());
  ActRecord record;
  record.act = act;
  record.name = "unplug " + c.name;
  record.undo_name = "plug " + c.name;
  const double reach = c.place[0].is_none() ? 0.0 : loom.places.at(c.place[0].index()).minutes;
  record.do_minutes = c.unplug_minutes + reach;
  record.undo_minutes = c.plug_minutes + reach;
  record.needs = needs_of_place(loom, c.place[0]);
  record.caution = c.caution;
  return record;
}

ActRecord describe_fit(const Loom& loom, const circuit::Netlist& netlist, const Act& act) {
  const circuit::Point& a = netlist.points.at(act.fitted.a.index());
  const circuit::Point& b = netlist.points.at(act.fitted.b.index());
  const bool lead = act.fitted.kind == circuit::Fitted::Kind::kLead;
  const std::string what =
      (lead ? "lead" : base::format_quantity(act.fitted.ohm, base::Unit::kOhm)) + " at " + a.name + " " + b.name;
  ActRecord record;
  record.act = act;
  record.name = "fit " + what;
  record.undo_name = "remove " + what;
  record.do_minutes = lead ? 1.5 : 0.7;
  record.undo_minutes = lead ? 1.0 : 0.4;
  for (const circuit::Point* point : {&a, &b}) {
    for (const Act& need : needs_of_place(loom, point->place))
      if (std::find(record.needs.begin(), record.needs.end(), need) == record.needs.end()) record.needs.push_back(need);
    if (point->needs_unplugged || (!lead && !point->connector.is_none())) {
      Act apart;
      apart.kind = Act::Kind::kUnplug;
      apart.connector = point->connector;
      if (std::find(record.needs.begin(), record.needs.end(), apart) == record.needs.end())
        record.needs.push_back(apart);
    }
  }
  if (lead) record.caution = kLeadCaution;
  return record;
}

ActRecord describe_swap(const Loom& loom, const Act& act) {
  ActRecord record;
  record.act = act;
  if (act.kind == Act::Kind::kSwapPart) {
    const circuit::Part& part = loom.parts.at(act.part.index());
    record.name = "swap " + part.name;
    record.undo_name = "put back " + part.name;
    record.do_minutes = part.kind == circuit::PartKind::kFuse    ? 0.7
                        : part.kind == circuit::PartKind::kRelay ? 1.5
                                                                 : 4.0;
    record.needs = needs_of_place(loom, part.place);
    record.caution = part.caution;
  } else {
    const circuit::Module& module = loom.modules.at(act.module.index());
    record.name = "swap " + module.name;
    record.undo_name = "put back " + module.name;
    record.do_minutes = 20.0;
    record.needs = needs_of_place(loom, module.place);
    record.caution = module.caution;
  }
  record.undo_minutes = record.do_minutes;
  return record;
}

bool names_setup(const std::vector<SetupId>& list, SetupId setup) { return contains(list, setup); }

}  // namespace

std::vector<SetupId> access(const Loom& loom, circuit::PlaceId place) {
  std::vector<SetupId> order;
  if (place.is_none()) return order;
  for (const SetupId setup : loom.places.at(place.index()).needs) add_access(loom, setup, order);
  return order;
}

namespace {

ActRecord describe_plainly(const Loom& loom, const circuit::Netlist& netlist, const Act& act) {
  switch (act.kind) {
    case Act::Kind::kSetup:
      return describe_setup(loom, act);
    case Act::Kind::kUnplug:
      return describe_unplug(loom, act);
    case Act::Kind::kFit:
      return describe_fit(loom, netlist, act);
    default:
      return describe_swap(loom, act);
  }
}

}  // namespace

ActRecord describe(const Loom& loom, const circuit::Netlist& netlist, const Act& act) {
  ActRecord record = describe_plainly(loom, netlist, act);
  for (const circuit::Hazard hazard : hazards_of(loom, netlist, act))
    record.caution = joined_cautions(record.caution, hazard_caution(hazard));
  return record;
}

std::vector<Act> loom_acts(const Loom& loom) {
  std::vector<Act> acts;
  for (std::size_t i = 0; i < loom.setups.size(); ++i) acts.push_back(setup_act(SetupId(i)));
  for (std::size_t i = 0; i < loom.connectors.size(); ++i) {
    if (!loom.connectors[i].pluggable) continue;
    Act act;
    act.kind = Act::Kind::kUnplug;
    act.connector = circuit::ConnectorId(i);
    acts.push_back(act);
  }
  return acts;
}

bool is_done(const Configuration& configuration, const Act& act) {
  switch (act.kind) {
    case Act::Kind::kSetup:
      return configuration.made.contains(act.setup);
    case Act::Kind::kUnplug:
      return configuration.unplugged.contains(act.connector);
    case Act::Kind::kFit:
      return configuration.fitted.contains(act.fitted);
    case Act::Kind::kSwapPart:
      return configuration.swapped_parts.contains(act.part);
    case Act::Kind::kSwapModule:
      return configuration.swapped_modules.contains(act.module);
  }
  return false;
}

void apply(Configuration& configuration, const Act& act, bool make) {
  const auto change = [make](auto& set, const auto& id) {
    if (make)
      set.insert(id);
    else
      set.erase(id);
  };
  switch (act.kind) {
    case Act::Kind::kSetup:
      return change(configuration.made, act.setup);
    case Act::Kind::kUnplug:
      return change(configuration.unplugged, act.connector);
    case Act::Kind::kFit:
      return change(configuration.fitted, act.fitted);
    case Act::Kind::kSwapPart:
      return change(configuration.swapped_parts, act.part);
    case Act::Kind::kSwapModule:
      return change(configuration.swapped_modules, act.module);
  }
}

std::vector<Act> acts_of(const Configuration& configuration) {
  std::vector<Act> acts;
  for (const SetupId setup : configuration.made) acts.push_back(setup_act(setup));
  const auto add = [&](Act::Kind kind, auto member, const auto& set) {
    for (const auto& id : set) {
      Act act;
      act.kind = kind;
      act.*member = id;
      acts.push_back(act);
    }
  };
  add(Act::Kind::kUnplug, &Act::connector, configuration.unplugged);
  add(Act::Kind::kFit, &Act::fitted, configuration.fitted);
  add(Act::Kind::kSwapPart, &Act::part, configuration.swapped_parts);
  add(Act::Kind::kSwapModule, &Act::module, configuration.swapped_modules);
  return acts;
}

circuit::Item item_of(const Act& act) {
  using Kind = circuit::Item::Kind;
  switch (act.kind) {
    case Act::Kind::kUnplug:
      return {Kind::kConnector, act.connector.value, ""};
    case Act::Kind::kSwapPart:
      return {Kind::kPart, act.part.value, ""};
    case Act::Kind::kSwapModule:
      return {Kind::kModule, act.module.value, ""};
    default:
      return {};
  }
}

std::vector<circuit::Hazard> hazards_of(const Loom& loom, const circuit::Netlist& netlist, const Act& act) {
  if (act.kind == Act::Kind::kSetup) return {};
  if (act.kind != Act::Kind::kFit) return hazards_of(loom, item_of(act));
  std::vector<circuit::Hazard> list = hazards_at(loom, netlist.points.at(act.fitted.a.index()));
  for (const circuit::Hazard hazard : hazards_at(loom, netlist.points.at(act.fitted.b.index())))
    if (std::find(list.begin(), list.end(), hazard) == list.end()) list.push_back(hazard);
  return list;
}

bool is_electrical(const Loom& loom, SetupId setup) {
  if (!loom.setups.at(setup.index()).sets.empty() || names_setup(loom.in_use, setup)) return true;
  for (const circuit::Part& part : loom.parts)
    if (names_setup(part.runs_with, setup)) return true;
  for (const circuit::Code& code : loom.codes)
    if (names_setup(code.needs, setup)) return true;
  for (const circuit::Module& module : loom.modules) {
    if (names_setup(module.powered_with, setup)) return true;
    for (const circuit::ModulePin& pin : module.pins)
      if (names_setup(pin.on_with, setup)) return true;
  }
  return false;
}

Configuration electrical_part(const Loom& loom, const Configuration& configuration) {
  Configuration part = configuration;
  std::erase_if(part.made, [&](SetupId setup) { return !is_electrical(loom, setup); });
  return part;
}

void place_in(const Loom& loom, const circuit::Netlist& netlist, const circuit::Configuration& state,
              evidence::Observable& what) {
  if (!evidence::is_by_eye(what.kind)) {
    what.configuration = electrical_part(loom, state);
    return;
  }
  what.configuration = {};
  if (what.red.is_none()) return;
  const circuit::ConnectorId plug = netlist.points.at(what.red.index()).connector;
  if (!plug.is_none() && loom.connectors.at(plug.index()).pluggable) what.configuration.unplugged.insert(plug);
}

}  // namespace halfsplit::candidates
