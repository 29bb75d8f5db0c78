// SPDX-License-Identifier: Apache-2.0
// What goes wrong inside parts, kind by kind (docs/formats/loom.md, "Faults by element").
#include "base/number.h"
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
  const bool fuse = part.kind == PartKind::kFuse;
  const std::string fitted = kind + " " + part.name +
                             (fuse ? ", " + base::format_number(circuit::part_value(part, "rating_a")) + " A" : "") +
                             (part.part_number.empty() ? "" : " (" + part.part_number + ")");
  site.repair = list.repair(row, name, part.place, e.item, part.repair_minutes, part.part_money, fitted, part.plug);
  return site;
}

void put_shorted(FaultList& list, const Site& site, const Element& e, const std::string& where = "") {
  list.put_branch(site, FaultKind::kShorted, e.a, e.b, where + "shorted", where + "shorted inside");
}

void put_now_and_then(FaultList& list, const Site& site, ElementId id, const std::string& what) {
  list.put(site, FaultKind::kIntermittent, id, "comes and goes", what);
}

void add_switch(FaultList& list, const Site& site, ElementId id) {
  list.put(site, FaultKind::kStuckOpen, id, "stuck open", "never closes");
  list.put(site, FaultKind::kStuckClosed, id, "stuck closed", "never opens");
  list.put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
  put_now_and_then(list, site, id, "contact that makes now and then");
}

void add_relay(FaultList& list, const Site& site, ElementId id, const Element& e) {
  if (e.kind == ElementKind::kRelayCoil) {
    list.put(site, FaultKind::kCoilOpen, id, "coil open", "coil open");
    return put_shorted(list, site, e, "coil ");
  }
  if (e.normally_closed) return list.put(site, FaultKind::kBurnt, id, "87a burnt", "contact 87a burnt (resistance)");
  list.put(site, FaultKind::kStuckOpen, id, "stuck open", "contact never closes");
  list.put(site, FaultKind::kStuckClosed, id, "stuck closed", "contact welded");
  list.put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
  put_now_and_then(list, site, id, "contact that makes now and then");
}

void add_lamp(FaultList& list, const Site& site, ElementId id, const Element& e) {
  const bool led = e.kind == ElementKind::kDiode;
  list.put(site, FaultKind::kOpen, id, "open", led ? "open inside" : "filament open");
  put_shorted(list, site, e);
  list.put(site, FaultKind::kWrongValue, id, "wrong value", led ? "some of its diodes dark" : "wrong bulb fitted");
  put_now_and_then(list, site, id, led ? "flickers inside" : "filament or cap that comes and goes");
}

void add_load(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kOpen, id, "open", "winding or element open");
  put_shorted(list, site, e);
  const circuit::NodeId live = list.at_ground(e.a) ? e.b : e.a;
  if (!list.at_ground(live))
    list.put_branch(site, FaultKind::kToGround, live, list.net.frame_nodes.front(), "to ground",
                    "winding or element touches its housing");
  list.put(site, FaultKind::kWrongValue, id, "wrong value", "winding or element off its resistance");
  put_now_and_then(list, site, id, "brush, winding or element that comes and goes");
}

void add_terminator(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kMissing, id, "missing", "terminator missing or open");
  list.put(site, FaultKind::kWrongValue, id, "wrong value", "terminator off its value");
  list.put_doubled(site, e);
}

void add_sensor(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kOpen, id, "open", "open inside");
  put_shorted(list, site, e);
  list.put(site, FaultKind::kWrongValue, id, "wrong value", "off its curve");
  put_now_and_then(list, site, id, "open inside now and then");
}

// The two halves of the track, then the wiper; together, when the shaft no longer moves it.
void add_potentiometer(FaultList& list, Site site, ElementId id, const Element& e) {
  if (e.name.ends_with(":wiper")) {
    site.name += " wiper";
    site.description += ", wiper";
    site.row = "wiper";
    return list.put_joint(site, id, "lifted off the track (open)", "worn track (resistance)",
                          "leaves the track now and then");
  }
  const bool second = e.name.ends_with(":2-3");
  const std::string where = second ? "2-3 " : "1-2 ";
  list.put(site, FaultKind::kOpen, id, where + "open", where + "open inside");
  put_shorted(list, site, e, where);
  if (second) return;
  list.put(site, FaultKind::kWrongValue, id, where + "wrong value", where + "off its value");
  Fault stuck = list.start(site, FaultKind::kStuck, "stuck", "wiper does not follow");
  stuck.element = id;
  stuck.other = ElementId(id.index() + 1);
  list.put(std::move(stuck));
}

void add_three_wire_sensor(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kOpen, id, "dead", "output open");
  list.put_branch(site, FaultKind::kShorted, e.c, e.d, "shorted", "shorted inside from + to -");
  list.put(site, FaultKind::kWrongValue, id, "wrong value", "output drifted");
  list.put(site, FaultKind::kStuck, id, "stuck", "output stuck");
  put_now_and_then(list, site, id, "output open now and then");
}

void add_battery(FaultList& list, const Site& site, ElementId id) {
  list.put(site, FaultKind::kOpen, id, "open", "broken inside: post or bridge between cells");
  list.put(site, FaultKind::kFlat, id, "flat", "discharged, or a dead cell");
  list.put(site, FaultKind::kWeak, id, "weak", "high internal resistance");
}

void add_alternator(FaultList& list, const Site& site, ElementId id, const Element& e) {
  list.put(site, FaultKind::kNoCharge, id, "no charge", "gives no current");
  list.put(site, FaultKind::kWeak, id, "weak", "gives way under load (slipping belt, worn brushes, a diode open)");
  list.put(site, FaultKind::kLowCharge, id, "low charge", "regulates too low");
  list.put(site, FaultKind::kOvercharge, id, "overcharge", "regulates too high");
  list.put_branch(site, FaultKind::kLeaks, e.b, e.a, "leaks", "diodes leak, also at rest");
}

}  // namespace

void add_part_faults(FaultList& list, ElementId id) {
  const Element& e = list.net.elements[id.index()];
  const Site site = part_site(list, e);
  switch (list.loom.parts[e.item.index].kind) {
    case PartKind::kFuse:
      return list.put(site, FaultKind::kBlown, id, "blown", "open without an overload (age, surge, too small a fuse)");
    case PartKind::kSwitch:
      return add_switch(list, site, id);
    case PartKind::kRelay:
      return add_relay(list, site, id, e);
    case PartKind::kDiode:
      list.put(site, FaultKind::kOpen, id, "open", "open inside");
      return put_shorted(list, site, e);
    case PartKind::kLamp:
      return add_lamp(list, site, id, e);
    case PartKind::kMotor:
    case PartKind::kSolenoid:
    case PartKind::kHeater:
      return add_load(list, site, id, e);
    case PartKind::kResistor:
      list.put(site, FaultKind::kOpen, id, "open", "open inside");
      return list.put(site, FaultKind::kWrongValue, id, "wrong value", "off its value");
    case PartKind::kTerminator:
      return add_terminator(list, site, id, e);
    case PartKind::kPotentiometer:
      return add_potentiometer(list, site, id, e);
    case PartKind::kNtc:
    case PartKind::kPtc:
    case PartKind::kSender:
      return add_sensor(list, site, id, e);
    case PartKind::kThreeWireSensor:
      return e.kind == ElementKind::kRatio ? add_three_wire_sensor(list, site, id, e) : void();
    case PartKind::kBattery:
      return add_battery(list, site, id);
    case PartKind::kAlternator:
      return add_alternator(list, site, id, e);
  }
}

}  // namespace halfsplit::fault
