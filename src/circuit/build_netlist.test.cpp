// SPDX-License-Identifier: Apache-2.0
// From the drawing to nodes and elements (docs/formats/loom.md, part 2): what each thing drawn becomes, and with which
// values.
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "circuit/test_loom.h"

namespace halfsplit::circuit {
namespace {

using test::LoomMaker;

struct Built {
  explicit Built(const Loom& loom) : netlist(build_netlist(loom)) {}
  std::vector<const Element*> all(const std::string& name) const {
    std::vector<const Element*> found;
    for (const Element& e : netlist.elements)
      if (e.name == name) found.push_back(&e);
    return found;
  }
  const Element& one(const std::string& name, ElementKind kind) const {
    for (const Element* e : all(name))
      if (e->kind == kind) return *e;
    throw std::runtime_error("no element " + name);
  }
  bool has(const std::string& name) const { return !all(name).empty(); }
  NodeId node(const std::string& point) const {
    return netlist.points.at(netlist.point_by_name.at(point).index()).node;
  }
  const Point& point(const std::string& name) const {
    return netlist.points.at(netlist.point_by_name.at(name).index());
  }
  Netlist netlist;
};

TEST(BuildNetlist, WireTakesItsOhmsFromWhatTheDrawingSays) {
  LoomMaker m;
  m.loom.ambient_c = 20.0;
  m.wire(m.chassis(), m.at(m.splice("A")));
  m.wire(m.chassis(), m.at(m.splice("B")), 2.5, 10.0);
  m.wire(m.chassis(), m.at(m.splice("C")), 0.3);
  const Built b(m.loom);
  EXPECT_DOUBLE_EQ(b.one("w0", ElementKind::kWire).ohm, copper_ohm(1.0, 2.0, 20.0)) << "the defaults";
  EXPECT_DOUBLE_EQ(b.one("w1", ElementKind::kWire).ohm, copper_ohm(2.5, 10.0, 20.0));
  EXPECT_DOUBLE_EQ(b.one("w2", ElementKind::kWire).ohm, 0.3);
  EXPECT_GT(b.one("w0", ElementKind::kWire).tolerance, b.one("w1", ElementKind::kWire).tolerance);
  EXPECT_EQ(b.netlist.wire_elements.size(), 3U);
}

TEST(BuildNetlist, LugsCrimpsAndClampsAreJointsAndAFrameIsNot) {
  LoomMaker m;
  m.loom.defaults.stud_ohm = 0.002;
  m.loom.defaults.splice_ohm = 0.003;
  m.loom.studs[m.stud("G1").index()].ohm = 0.02;
  const PartId battery = m.part(PartKind::kBattery, "BATT");
  m.wire(m.at(StudId(0)), m.at(m.splice("S1")));
  m.wire(m.at(battery, "-"), m.chassis());
  const Built b(m.loom);
  EXPECT_DOUBLE_EQ(b.one("G1", ElementKind::kJoint).ohm, 0.02);
  EXPECT_DOUBLE_EQ(b.one("G1 to w0", ElementKind::kJoint).ohm, 0.002);
  EXPECT_DOUBLE_EQ(b.one("S1 to w0", ElementKind::kJoint).ohm, 0.003);
  EXPECT_DOUBLE_EQ(b.one("BATT:- to w1", ElementKind::kJoint).ohm, 0.002);
  EXPECT_EQ(b.one("w1", ElementKind::kWire).b, b.netlist.frame_nodes.at(0));
  EXPECT_EQ(b.one("G1 to w0", ElementKind::kJoint).item.kind, Item::Kind::kStud);
}

// From post to clamp is one reading; what is crimped, plugged or welded has no such two sides.
TEST(BuildNetlist, ALugOnAStudOrABareTerminalIsAPointOfItsOwn) {
  LoomMaker m;
  const circuit::PlaceId box = m.place("battery box");
  m.loom.parts[m.part(PartKind::kBattery, "BATT").index()].place = box;
  m.part(PartKind::kFuse, "F1", {{"rating_a", 10.0}});
  m.stud("G1");
  m.wire(m.at(PartId(0), "-"), m.at(StudId(0)));
  m.wire(m.at(PartId(0), "+"), m.at(m.splice("S1")));
  m.wire(m.at(PartId(0), "+"), m.at(PartId(1), "1"));
  m.loom.wires[0].hazard = Hazard::kAirbag;
  const Built b(m.loom);
  EXPECT_EQ(b.node("BATT:-@w0"), b.one("BATT:- to w0", ElementKind::kJoint).a);
  EXPECT_EQ(b.node("G1@w0"), b.one("G1 to w0", ElementKind::kJoint).a);
  EXPECT_NE(b.node("BATT:+@w1"), b.node("BATT:+@w2")) << "each wire its own lug";
  EXPECT_EQ(b.point("BATT:+@w1").place, box);
  EXPECT_EQ(b.point("BATT:+@w1").lug, WireId(1));
  EXPECT_EQ(b.point("BATT:+@w1").hazard, Hazard::kNone);
  EXPECT_EQ(b.point("G1@w0").hazard, Hazard::kAirbag) << "of its wire";
  for (const char* none : {"S1@w1", "F1:1@w2", "chassis@w0"})
    EXPECT_FALSE(b.netlist.point_by_name.contains(none)) << none;
}

TEST(BuildNetlist, APlugHasAContactForEachCavityInUse) {
  LoomMaker m;
  const ConnectorId plug = m.plug("J4", {"1", "2", "3"}, "cab", "engine");
  m.loom.connectors[plug.index()].contact_ohm = 0.004;
  m.wire(m.at(plug, 0, "1"), m.chassis());
  m.wire(m.at(plug, 1, "3"), m.chassis());
  const Built b(m.loom);
  EXPECT_DOUBLE_EQ(b.one("J4:1", ElementKind::kContact).ohm, 0.004);
  EXPECT_EQ(b.one("J4:3", ElementKind::kContact).connector, plug);
  EXPECT_FALSE(b.has("J4:2"));
  EXPECT_EQ(b.one("J4:1", ElementKind::kContact).a, b.node("J4:1@cab"));
  EXPECT_EQ(b.one("J4:1", ElementKind::kContact).b, b.node("J4:1@engine"));
}

TEST(BuildNetlist, APartInAPlugHasContactsAndABoltedOneHasNot) {
  LoomMaker m;
  m.part(PartKind::kLamp, "L1", {{"watt", 21.0}});
  const PartId diode = m.part(PartKind::kDiode, "D1");
  m.wire(m.at(diode, "A"), m.chassis());
  const Built b(m.loom);
  EXPECT_EQ(b.one("L1", ElementKind::kLamp).a, b.node("L1:1@unit"));
  EXPECT_EQ(b.one("L1:1", ElementKind::kContact).a, b.node("L1:1"));
  EXPECT_EQ(b.one("D1", ElementKind::kDiode).a, b.node("D1:A"));
  EXPECT_TRUE(b.point("L1:1@unit").needs_unplugged);
  EXPECT_FALSE(b.point("L1:1").needs_unplugged);
}

TEST(BuildNetlist, ElementsOfParts) {
  LoomMaker m;
  m.part(PartKind::kFuse, "F1", {{"rating_a", 10.0}});
  m.part(PartKind::kLamp, "L1", {{"watt", 21.0}});
  m.loom.parts[m.part(PartKind::kLamp, "L2", {{"watt", 6.0}}).index()].led = true;
  m.part(PartKind::kHeater, "E1", {{"watt", 240.0}});
  m.part(PartKind::kBattery, "BATT", {{"volt", 25.0}, {"ohm", 0.02}});
  m.part(PartKind::kAlternator, "ALT", {{"volt", 28.0}});
  m.part(PartKind::kPotentiometer, "P1", {{"ohm", 1000.0}, {"at", 0.25}});
  m.part(PartKind::kPotentiometer, "P2", {{"ohm", 1000.0}, {"at", 0.0}});
  const Built b(m.loom);
  EXPECT_DOUBLE_EQ(b.one("F1", ElementKind::kFuse).blow_a, 13.5) << "ISO 8820-3, 135 % row (from memory)";
  EXPECT_DOUBLE_EQ(b.one("F1", ElementKind::kFuse).ohm, 0.01);
  EXPECT_DOUBLE_EQ(b.one("L1", ElementKind::kLamp).ohm, 24.0 * 24.0 / 21.0);
  const Element& led = b.one("L2", ElementKind::kDiode);
  EXPECT_NEAR((24.0 - led.volt) / led.ohm, 6.0 / 24.0, 1.0e-12) << "rated current at rated volts";
  EXPECT_DOUBLE_EQ(b.one("E1", ElementKind::kResistor).ohm, 2.4);
  EXPECT_EQ(b.one("BATT", ElementKind::kSource).a, b.node("BATT:+"));
  const Element& alternator = b.one("ALT", ElementKind::kDiode);
  EXPECT_EQ(alternator.a, b.node("ALT:-"));
  EXPECT_DOUBLE_EQ(alternator.volt, -28.0) << "feeds while + is less than 28 V above -";
  EXPECT_DOUBLE_EQ(b.one("P1:1-2", ElementKind::kResistor).ohm, 250.0);
  EXPECT_DOUBLE_EQ(b.one("P1:2-3", ElementKind::kResistor).ohm, 750.0);
  EXPECT_DOUBLE_EQ(b.one("P2:1-2", ElementKind::kResistor).ohm, 0.5) << "a wiper at the end still has half an ohm";
}

TEST(BuildNetlist, ARelayHasItsRestContactOnlyWhereItIsWired) {
  LoomMaker m;
  m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
  const PartId other = m.part(PartKind::kRelay, "K2", {{"coil_ohm", 200.0}});
  m.wire(m.at(other, "87a"), m.chassis());
  const Built b(m.loom);
  EXPECT_FALSE(b.has("K1:30-87a"));
  EXPECT_FALSE(b.has("K1:87a"));
  const Element& rest = b.one("K2:30-87a", ElementKind::kRelayContact);
  EXPECT_TRUE(rest.normally_closed);
  EXPECT_EQ(b.netlist.elements.at(rest.control.index()).name, "K2 coil");
  EXPECT_DOUBLE_EQ(b.one("K1 coil", ElementKind::kRelayCoil).volt, 0.67 * 24.0);
}

TEST(BuildNetlist, AThreeWireSensorSharesOutItsSupply) {
  LoomMaker m;
  const PartId sensor = m.part(PartKind::kThreeWireSensor, "B1", {{"at", 2.5}, {"draw_a", 0.01}});
  m.loom.parts[sensor.index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
  const Built b(m.loom);
  const Element& ratio = b.one("B1", ElementKind::kRatio);
  EXPECT_DOUBLE_EQ(ratio.share, 0.3);
  EXPECT_EQ(ratio.a, b.node("B1:S@unit"));
  EXPECT_EQ(ratio.b, b.node("B1:-@unit"));
  EXPECT_EQ(ratio.c, b.node("B1:+@unit"));
  EXPECT_DOUBLE_EQ(b.one("B1 supply", ElementKind::kResistor).ohm, 500.0);
}

TEST(BuildNetlist, AModulesPinsBecomeWhatStandsBehindThem) {
  LoomMaker m;
  const ModuleId ecu = m.module("ECU");
  ModulePin supply;
  supply.role = PinRole::kSupply;
  supply.draw_a = 0.5;
  m.pin(ecu, "A", "1", supply);
  ModulePin ground;
  ground.role = PinRole::kGround;
  m.pin(ecu, "A", "2", ground);
  ModulePin input;
  input.role = PinRole::kInput;
  input.pull_up_ohm = 2200.0;
  m.pin(ecu, "A", "3", input);
  ModulePin reference;
  reference.role = PinRole::kReference;
  m.pin(ecu, "B", "1", reference);
  ModulePin out;
  out.role = PinRole::kHighSide;
  out.limit_a = 5.0;
  out.follows = "A:3";
  const std::size_t driver = m.pin(ecu, "B", "2", out);
  out.role = PinRole::kLowSide;
  out.follows.clear();
  m.pin(ecu, "B", "3", out);
  const Built b(m.loom);
  const ModuleWiring& wiring = b.netlist.modules.at(0);
  EXPECT_DOUBLE_EQ(wiring.alive_above_v, 15.0);
  EXPECT_EQ(b.one("ECU.A:1 supply", ElementKind::kResistor).b, wiring.supply);
  EXPECT_DOUBLE_EQ(b.one("ECU own draw", ElementKind::kResistor).ohm, 48.0);
  EXPECT_DOUBLE_EQ(b.one("ECU.A:3 pull-up", ElementKind::kResistor).ohm, 2200.0);
  EXPECT_DOUBLE_EQ(b.one("ECU.A:3 input", ElementKind::kResistor).ohm, m.loom.defaults.input_ohm);
  EXPECT_EQ(b.one("ECU.A:3 pull-up", ElementKind::kResistor).a, b.one("ECU.B:1 reference", ElementKind::kResistor).a)
      << "two pins at 5 V share one rail";
  EXPECT_EQ(b.all("ECU rail").size(), 1U);
  const Element& high = b.netlist.elements.at(wiring.pin_element.at(driver).index());
  EXPECT_EQ(high.a, wiring.supply);
  EXPECT_EQ(high.c, b.node("ECU.A:3@unit"));
  EXPECT_DOUBLE_EQ(high.follows_v, 12.0);
  EXPECT_EQ(b.one("ECU.B:3", ElementKind::kDriver).b, wiring.ground);
  EXPECT_TRUE(b.one("ECU.B:3", ElementKind::kDriver).c.is_none());
}

TEST(BuildNetlist, AModuleWithoutDrawnSupplyOrGroundGetsThem) {
  LoomMaker m;
  const SetupId key = m.setup("key on");
  const ModuleId ecu = m.module("ECU");
  m.loom.modules[0].powered_with = {key};
  m.pin(ecu, "1", PinRole::kInput);
  const Built b(m.loom);
  EXPECT_EQ(b.one("ECU ground (not drawn)", ElementKind::kResistor).b, b.netlist.frame_nodes.at(0));
  const Element& supply = b.one("ECU supply (not drawn)", ElementKind::kSource);
  EXPECT_DOUBLE_EQ(supply.volt, 24.0);
  EXPECT_EQ(supply.on_with, std::vector<SetupId>{key});
}

TEST(BuildNetlist, TheSupplyIsTheFirstBatteryOrTheOneTheLoomNames) {
  LoomMaker m;
  EXPECT_TRUE(build_netlist(m.loom).supply.is_none());
  EXPECT_EQ(build_netlist(m.loom).reference, build_netlist(m.loom).frame_nodes.at(0));
  m.part(PartKind::kBattery, "LOW");
  const PartId high = m.part(PartKind::kBattery, "HIGH");
  const Built first(m.loom);
  EXPECT_EQ(first.netlist.supply, first.node("LOW:+"));
  EXPECT_EQ(first.netlist.reference, first.node("LOW:-"));
  m.loom.supply = high;
  const Built named(m.loom);
  EXPECT_EQ(named.netlist.supply, named.node("HIGH:+"));
}

TEST(BuildNetlist, ATestLampStaysAwayFromSignalPinsAndWhatLeadsThere) {
  LoomMaker m;
  const ModuleId ecu = m.module("ECU");
  const std::size_t supply = m.pin(ecu, "1", PinRole::kSupply);
  const std::size_t input = m.pin(ecu, "2", PinRole::kInput);
  const ConnectorId plug = m.plug("J1", {"1", "2"});
  const PartId sensor = m.part(PartKind::kResistor, "R1", {{"ohm", 100.0}});
  m.wire(m.at(ecu, supply), m.at(plug, 0, "1"));
  m.wire(m.at(ecu, input), m.at(plug, 0, "2"));
  m.wire(m.at(plug, 1, "2"), m.at(sensor, "1"));
  m.wire(m.at(sensor, "2"), m.chassis());
  m.wire(m.at(ecu, m.pin(ecu, "3", PinRole::kReturn)), m.chassis());
  m.wire(m.chassis(), m.at(m.plug("J2", {"1"}), 0, "1"));
  const Built b(m.loom);
  EXPECT_FALSE(b.point("J1:1@b").module_pin);
  EXPECT_TRUE(b.point("J1:2@a").module_pin);
  EXPECT_TRUE(b.point("J1:2@b").module_pin);
  EXPECT_TRUE(b.point("R1:1").module_pin);
  EXPECT_FALSE(b.point("R1:2").module_pin) << "behind a load";
  EXPECT_FALSE(b.point("chassis").module_pin) << "though a pin is strapped to it";
  EXPECT_FALSE(b.point("ECU:3").module_pin) << "wired to the frame";
  EXPECT_TRUE(b.point("ECU:3@unit").module_pin) << "with the plug apart it is the pin alone";
  EXPECT_FALSE(b.point("J2:1@b").module_pin) << "ground of something else, behind a plug";
}

TEST(BuildNetlist, EveryElementJoinsNodesThatExistAndEveryNodeHasAName) {
  LoomMaker m;
  for (const PartKindInfo& info : part_kinds()) {
    const PartId id = m.part(info.kind, std::string(info.word));
    m.loom.parts[id.index()].curve.points = {{0.0, 0.1}, {1.0, 0.9}};
    for (const auto terminal : info.terminals) m.wire(m.at(id, std::string(terminal)), m.chassis());
  }
  const Netlist netlist = build_netlist(m.loom);
  std::set<std::string> names;
  for (const std::string& name : netlist.node_names) EXPECT_TRUE(names.insert(name).second) << name;
  for (const Element& e : netlist.elements) {
    EXPECT_LT(e.a.index(), netlist.node_count()) << e.name;
    EXPECT_LT(e.b.index(), netlist.node_count()) << e.name;
    EXPECT_FALSE(e.name.empty());
    EXPECT_NE(e.item.kind, Item::Kind::kNone) << e.name;
  }
}

}  // namespace
}  // namespace halfsplit::circuit
