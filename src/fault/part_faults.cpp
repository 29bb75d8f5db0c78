// SPDX-License-Identifier: Apache-2.0
// What goes wrong inside parts, kind by kind (docs/formats/loom.md, "Faults by element").
#include "circuit/part_kinds.h"
#include "fault/fault_list.h"

namespace halfsplit::fault {

namespace {

using circuit::Element;
using circuit::ElementId;
using circuit::ElementKind;
using circuit::Part;
using circuit::PartKind;

Site part_site(FaultList& list, const Element& e) {
  const Part& part = list.loom.parts[e.item.index];
  const std::string_view row = part_item_word(part);
  const std::string kind(circuit::part_kind(part.kind).word);
  Site site{part.name, kind + " " + part.name, e.item, part.place, part.rate, row, {}};
  const std::string name = row == "load" ? kind + " " + part.name : part.name;
  site.repair =
      list.repair(row, name, part.place, e.item, part.repair_minutes, part.part_money,
                  kind + " " + part.name + (part.part_number.empty() ? "" : " (" + part.part_number + ")"), part.plug);
  return site;
}

void put_shorted(FaultList& list, const Site& site, const Element& e, const std::string& where = "") {
  list.put_branch(site, FaultKind::kShorted, e.a, e.b, where + "shorted", where + "shorted inside");
}

void add_switch(FaultList& list, const Site& site, ElementId id) {
  list.put(site, FaultKind::kStuckOpen, id, "stuck open", "never closes");
  list.put(site, FaultKind::kStuckClosed, id, "stuck closed", "never opens");
  list.put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
}

void add_relay(FaultList& list, const Site& site, ElementId id, const Element& e) {
  if (e.kind == ElementKind::kRelayCoil) return list.put(site, FaultKind::kCoilOpen, id, "coil open", "coil open");
  if (e.normally_closed) return;
  list.put(site, FaultKind::kStuckOpen, id, "stuck open", "contact never closes");
  list.put(site, FaultKind::kStuckClosed, id, "stuck closed", "contact welded");
  list.put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
}

void add_terminator(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kMissing, id, "missing", "terminator missing or open");
  list.put(site, FaultKind::kWrongValue, id, "wrong value", "terminator off its value");
  list.put_doubled(site, e);
}

void add_sensor(FaultList& list, const Site& site, ElementId id, const Element& e) {
  const bool second = e.name.ends_with(":2-3");
  const std::string where = second ? "2-3 " : e.name.ends_with(":1-2") ? "1-2 " : "";
  list.put(site, FaultKind::kOpen, id, where + "open", where + "open inside");
  put_shorted(list, site, e, where);
  if (!second) list.put(site, FaultKind::kWrongValue, id, where + "wrong value", where + "off its curve");
}

}  // namespace

void add_part_faults(FaultList& list, ElementId id) {
  const Element& e = list.net.elements[id.index()];
  const Site site = part_site(list, e);
  switch (list.loom.parts[e.item.index].kind) {
    case PartKind::kFuse:
      return list.put(site, FaultKind::kBlown, id, "blown", "open without an overload (age, surge)");
    case PartKind::kSwitch:
      return add_switch(list, site, id);
    case PartKind::kRelay:
      return add_relay(list, site, id, e);
    case PartKind::kDiode:
      list.put(site, FaultKind::kOpen, id, "open", "open");
      return list.put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
    case PartKind::kLamp:
      list.put(site, FaultKind::kOpen, id, "open", "filament or unit open");
      return list.put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
    case PartKind::kMotor:
    case PartKind::kSolenoid:
    case PartKind::kHeater:
      list.put(site, FaultKind::kOpen, id, "open", "winding or element open");
      list.put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
      return list.put(site, FaultKind::kWrongValue, id, "wrong value", "winding or element off its resistance");
    case PartKind::kResistor:
      list.put(site, FaultKind::kOpen, id, "open", "open");
      return list.put(site, FaultKind::kWrongValue, id, "wrong value", "off its value");
    case PartKind::kTerminator:
      return add_terminator(list, site, id, e);
    case PartKind::kPotentiometer:
    case PartKind::kNtc:
    case PartKind::kPtc:
    case PartKind::kSender:
      return add_sensor(list, site, id, e);
    case PartKind::kThreeWireSensor:
      if (e.kind != ElementKind::kRatio) return;
      list.put(site, FaultKind::kOpen, id, "dead", "output open");
      return list.put(site, FaultKind::kStuck, id, "stuck", "output stuck or drifted");
    case PartKind::kBattery:
      list.put(site, FaultKind::kFlat, id, "flat", "discharged");
      return list.put(site, FaultKind::kWeak, id, "weak", "high internal resistance");
    case PartKind::kAlternator:
      return list.put(site, FaultKind::kNoCharge, id, "no charge", "gives no current");
  }
}

}  // namespace halfsplit::fault
