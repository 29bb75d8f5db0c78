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

}  // namespace

// Terminators, references and drivers inside a module.
void add_faults_inside(FaultList& list, ElementId id) {
  const Element& e = list.net.elements[id.index()];
  Site site = module_site(list, e.module);
  site.description = "module " + site.name + ", inside, " + e.name;
  site.name = e.name;
  if (e.kind == ElementKind::kDriver) {
    list.put(site, FaultKind::kOutputDead, id, "output dead", "output never on");
    list.put(site, FaultKind::kOutputStuckOn, id, "output stuck on", "output never off");
  } else if (e.name.ends_with(" terminator")) {
    site.row = "terminator";
    list.put(site, FaultKind::kMissing, id, "missing", "terminator inside open");
    list.put_doubled(site, e);
  } else if (e.name.ends_with(" reference") || e.name.ends_with(" return")) {
    list.put(site, FaultKind::kOpen, id, "open inside", "open inside the module");
  } else if (e.name.ends_with(" input")) {
    list.put_branch(site, FaultKind::kInputDamaged, e.a, e.b, "damaged", "input leaks inside the module");
  }
}

void add_module_faults(FaultList& list, circuit::ModuleId id) {
  Fault fault = list.start(module_site(list, id), FaultKind::kDead, "dead", "does nothing, though powered");
  fault.module = id;
  list.put(std::move(fault));
}

}  // namespace halfsplit::fault
