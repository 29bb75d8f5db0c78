// SPDX-License-Identifier: Apache-2.0
// What goes wrong inside modules: at the pins, and of the module as a whole (docs/formats/loom.md, "Faults by
// element").
#include "fault/fault_list.h"

namespace halfsplit::fault {

namespace {

using circuit::Element;
using circuit::ElementId;
using circuit::ElementKind;
using circuit::Item;

Site module_site(FaultList& list, circuit::ModuleId id) {
  const circuit::Module& module = list.loom.modules[id.index()];
  Site site{module.name,
            "module " + module.name,
            Item{Item::Kind::kModule, id.value, ""},
            module.place,
            module.rate,
            "module",
            {}};
  site.repair =
      list.repair("module", module.name, module.place, site.item, module.repair_minutes, module.part_money,
                  "module " + module.name + (module.part_number.empty() ? "" : " (" + module.part_number + ")"));
  return site;
}

// Drivers: the pin is at the far end from the supply or ground they switch.
void add_output(FaultList& list, Site site, ElementId id, const Element& e) {
  site.row = "output";
  list.put(site, FaultKind::kOutputDead, id, "output dead", "output never on");
  list.put(site, FaultKind::kOutputStuckOn, id, "output stuck on", "output never off");
  list.put(site, FaultKind::kHighResistance, id, "output weak", "output on through a resistance");
  list.put_branch(site, FaultKind::kLeaks, e.a, e.b, "output leaks", "output lets some current through when it is off");
  const circuit::ModuleWiring& inner = list.net.modules[e.module.index()];
  const bool high_side = e.a == inner.supply;
  site.row = "inside";
  list.put_branch(site, FaultKind::kShorted, high_side ? e.b : e.a, high_side ? inner.ground : inner.supply,
                  "output shorted inside",
                  high_side ? "output joined to ground inside" : "output joined to supply inside");
}

void add_input(FaultList& list, Site site, const Element& e) {
  site.row = "input";
  list.put_branch(site, FaultKind::kInputDamaged, e.a, e.b, "damaged", "input leaks to ground inside the module");
  list.put_branch(site, FaultKind::kInputDamaged, e.a, list.net.modules[e.module.index()].supply, "leaks to supply",
                  "input leaks to supply inside the module");
}

void add_reference(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kHighResistance, id, "weak inside", "sensor supply gives way under load");
  list.put_branch(site, FaultKind::kShorted, e.b, list.net.modules[e.module.index()].ground, "shorted inside",
                  "sensor supply shorted inside the module");
}

// By the last word of the element's name: what stands behind the pin.
void add_pin(FaultList& list, Site site, ElementId id, const Element& e) {
  site.row = "inside";
  const std::string_view name = e.name;
  const auto is = [&](std::string_view what) { return name.ends_with(what); };
  if (is(" input")) return add_input(list, site, e);
  if (is(" pull-up") || is(" pull-down") || is(" reference") || is(" return") || is(" supply") || is(" ground"))
    list.put(site, FaultKind::kOpen, id, "open inside", "open inside the module");
  if (is(" reference")) add_reference(list, site, id, e);
}

// What a module does wrong on one of its buses.
void add_seat_faults(FaultList& list, Site site, const circuit::Transceiver& seat) {
  const std::string& bus = list.loom.buses.at(seat.bus.index()).name;
  site.row = "seat";
  const auto put = [&](FaultKind kind, const char* suffix, const char* what) {
    Fault fault = list.start(site, kind, bus + " " + suffix, "on bus " + bus + ": " + what);
    fault.module = seat.module;
    fault.bus = seat.bus;
    list.put(std::move(fault));
  };
  put(FaultKind::kMute, "mute", "neither sends nor hears, though it works otherwise");
  put(FaultKind::kHoldsBus, "holds the bus", "holds the bus dominant");
  put(FaultKind::kBabbles, "babbles", "sends without end, before everybody else");
}

}  // namespace

void add_faults_inside(FaultList& list, ElementId id) {
  const Element& e = list.net.elements[id.index()];
  Site site = module_site(list, e.module);
  site.description = "module " + site.name + ", inside, " + e.name;
  site.name = e.name;
  if (e.kind == ElementKind::kDriver) return add_output(list, site, id, e);
  if (!e.name.ends_with(" terminator")) return add_pin(list, site, id, e);
  site.row = "terminator";
  list.put(site, FaultKind::kMissing, id, "missing", "terminator inside open");
  list.put_doubled(site, e);
}

void add_module_faults(FaultList& list, circuit::ModuleId id) {
  const Site site = module_site(list, id);
  Fault dead = list.start(site, FaultKind::kDead, "dead", "does nothing, though powered");
  Fault restarts =
      list.start(site, FaultKind::kIntermittent, "comes and goes", "drops out now and then, though powered");
  dead.module = restarts.module = id;
  list.put(std::move(dead));
  list.put(std::move(restarts));
  for (const circuit::Transceiver& seat : list.net.transceivers)
    if (seat.module == id) add_seat_faults(list, site, seat);
  if (list.loom.modules[id.index()].gateway.empty()) return;
  Site gateway = site;
  gateway.row = "gateway";
  Fault stops =
      list.start(gateway, FaultKind::kPassesNothing, "passes nothing on", "passes no messages on between its buses");
  stops.module = id;
  list.put(std::move(stops));
}

}  // namespace halfsplit::fault
