// SPDX-License-Identifier: Apache-2.0
// Which faults a drawing has (docs/formats/loom.md, "Faults"), on small looms whose lists can be read in full.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "base/check.h"
#include "circuit/test_loom.h"
#include "fault/fault.h"
#include "fault/rates.h"

namespace halfsplit::fault {
namespace {

using circuit::ConnectorId;
using circuit::ModuleId;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::PlaceId;
using circuit::Stress;
using circuit::test::LoomMaker;
using Names = std::set<std::string>;

struct DrawnUniverse {
  explicit DrawnUniverse(const circuit::Loom& loom)
      : netlist(circuit::build_netlist(loom)), universe(make_universe(loom, netlist)) {
    for (const Fault& fault : universe.faults) {
      EXPECT_NO_THROW(static_cast<void>(rate_of(fault.row, fault.kind))) << fault.name;
      EXPECT_TRUE(names.insert(fault.name).second) << "two faults named " << fault.name;
      EXPECT_FALSE(fault.repair.is_none()) << fault.name;
      EXPECT_FALSE(changes_of(netlist, fault, severity_at(fault, 0.5)).empty()) << fault.name;
    }
  }
  // Those that begin so.
  Names of(const std::string& item) const {
    Names found;
    for (const std::string& name : names)
      if (name.starts_with(item + " ")) found.insert(name.substr(item.size() + 1));
    return found;
  }
  const Fault& fault(const std::string& name) const { return universe.faults.at(universe.find(name).index()); }

  circuit::Netlist netlist;
  Universe universe;
  Names names;
};

const Names kJointFaults{"open", "high", "comes and goes"};

TEST(Universe, OfAFeedAFuseAndALamp) {
  LoomMaker m;
  const PartId battery = m.part(PartKind::kBattery, "BATT");
  const PartId fuse = m.part(PartKind::kFuse, "F1", {{"rating_a", 10.0}});
  const PartId lamp = m.part(PartKind::kLamp, "L1", {{"watt", 21.0}});
  const auto stud = m.stud("G1");
  m.wire(m.at(battery, "+"), m.at(fuse, "1"));
  m.wire(m.at(fuse, "2"), m.at(lamp, "1"));
  m.wire(m.at(lamp, "2"), m.at(stud));
  m.wire(m.at(battery, "-"), m.chassis());
  const DrawnUniverse d(m.loom);
  EXPECT_EQ(d.of("BATT"), (Names{"open", "flat", "weak"}));
  EXPECT_EQ(d.of("BATT:+ to w0"), kJointFaults);
  EXPECT_EQ(d.of("F1"), Names{"blown"});
  EXPECT_EQ(d.of("F1:1"), kJointFaults);
  EXPECT_EQ(d.of("L1"), (Names{"open", "shorted", "wrong value", "comes and goes"}));
  EXPECT_EQ(d.of("L1:1+2"), (Names{"touch", "water"})) << "the same either way round";
  EXPECT_TRUE(d.of("F1:1+2").empty()) << "the blades of a fuse";
  EXPECT_EQ(d.of("G1"), (Names{"open", "high", "comes and goes", "to w2 open", "to w2 high", "to w2 comes and goes"}));
  const Names short_too{"open", "high", "comes and goes", "to ground", "to ground now and then"};
  EXPECT_EQ(d.of("w0"), short_too) << "it is the supply already";
  Names both = short_too;
  both.insert("to supply");
  EXPECT_EQ(d.of("w1"), both);
  EXPECT_EQ(d.of("w2"), (Names{"open", "high", "comes and goes", "to supply"})) << "it is ground already";
}

TEST(Universe, WithoutABatteryNothingIsLive) {
  LoomMaker m;
  m.wire(m.at(m.splice("A")), m.at(m.splice("B")));
  EXPECT_FALSE(DrawnUniverse(m.loom).of("w0").contains("to supply"));
}

TEST(Universe, NeighboursTouchAlongARowAndAColumnWhereBothCavitiesAreUsed) {
  LoomMaker m;
  const ConnectorId plug = m.plug("J1", {});
  m.loom.connectors[plug.index()].rows = {{"1", "2", "3"}, {"4", "5"}};
  for (const char* cavity : {"1", "2", "4"}) m.wire(m.at(plug, 0, cavity), m.at(m.splice(cavity)));
  const DrawnUniverse d(m.loom);
  for (const char* what : {"touch", "swapped", "water"}) {
    EXPECT_TRUE(d.names.contains(std::string("J1:1+2 ") + what));
    EXPECT_TRUE(d.names.contains(std::string("J1:1+4 ") + what));
  }
  EXPECT_TRUE(d.of("J1:2+3").empty()) << "3 is empty";
  EXPECT_TRUE(d.of("J1:2+5").empty()) << "5 is empty";
  EXPECT_TRUE(d.of("J1:2+4").empty()) << "corner to corner is no neighbour";
}

TEST(Universe, NeighboursOfOneNetDoNotTouch) {
  LoomMaker m;
  const ConnectorId plug = m.plug("J1", {"1", "2"});
  const auto splice = m.splice("S1");
  for (const char* cavity : {"1", "2"}) m.wire(m.at(plug, 0, cavity), m.at(splice));
  EXPECT_TRUE(DrawnUniverse(m.loom).of("J1:1+2").empty());
}

TEST(Universe, WiresOfABundleChafeIntoEachOther) {
  LoomMaker m;
  for (int i = 0; i < 3; ++i) {
    m.wire(m.at(m.splice("A" + std::to_string(i))), m.at(m.splice("B" + std::to_string(i))));
    m.loom.wires.back().bundle = i < 2 ? "left" : "right";
  }
  const DrawnUniverse d(m.loom);
  EXPECT_TRUE(d.names.contains("w0+w1 touch"));
  EXPECT_FALSE(d.names.contains("w0+w2 touch"));
}

TEST(Universe, EachPairOfLinesHasOneTerminatorTooManyAtMost) {
  LoomMaker m;
  for (const char* bus : {"first ", "second "}) {
    const auto high = m.splice(std::string(bus) + "high");
    const auto low = m.splice(std::string(bus) + "low");
    for (const char* end : {"near", "far"}) {
      const PartId id = m.part(PartKind::kTerminator, std::string(bus) + end);
      m.wire(m.at(id, "1"), m.at(high));
      m.wire(m.at(id, "2"), m.at(low));
    }
  }
  const DrawnUniverse d(m.loom);
  EXPECT_TRUE(d.names.contains("first near doubled"));
  EXPECT_FALSE(d.names.contains("first far doubled"));
  EXPECT_TRUE(d.names.contains("second near doubled"));
  EXPECT_FALSE(d.names.contains("second far doubled"));
}

TEST(Universe, AShortSitsAtTheFarEndOfItsWire) {
  LoomMaker m;
  const PartId battery = m.part(PartKind::kBattery, "BATT");
  const auto near = m.splice("NEAR"), far = m.splice("FAR");
  m.wire(m.at(near), m.at(far));
  m.wire(m.at(near), m.at(far));
  for (circuit::Wire& wire : m.loom.wires) wire.bundle = "trunk";
  m.wire(m.at(battery, "-"), m.chassis());
  const DrawnUniverse d(m.loom);
  const circuit::Element& wire = d.netlist.elements[d.netlist.wire_elements[0].index()];
  EXPECT_EQ(d.fault("w0 to ground").a, wire.b);
  EXPECT_EQ(d.fault("w0 to ground").b, d.netlist.frame_nodes.front());
  EXPECT_EQ(d.fault("w0 to supply").a, wire.b);
  EXPECT_EQ(d.fault("w0 to supply").b, d.netlist.supply);
  EXPECT_EQ(d.fault("w0 to ground now and then").a, wire.b);
  EXPECT_FALSE(has_range(d.fault("w0 to ground now and then")));
}

TEST(Universe, AWetSpliceLeaksUnlessItIsAtGround) {
  LoomMaker m;
  m.wire(m.at(m.splice("S1")), m.at(m.splice("S2")));
  m.wire(m.at(m.splice("S3")), m.chassis());
  const DrawnUniverse d(m.loom);
  EXPECT_EQ(d.fault("S1 water").b, d.netlist.frame_nodes.front());
  EXPECT_EQ(d.fault("S1 water").repair, d.fault("S1 to w0 open").repair);
  EXPECT_FALSE(d.names.contains("S3 water"));
}

TEST(Universe, OfAModule) {
  LoomMaker m;
  const ModuleId ecu = m.module("ECU");
  m.pin(ecu, "1", PinRole::kSupply);
  circuit::ModulePin input;
  input.role = PinRole::kInput;
  input.pull_up_ohm = 2200.0;
  m.pin(ecu, "", "2", input);
  m.pin(ecu, "3", PinRole::kHighSide);
  m.pin(ecu, "4", PinRole::kReturn);
  m.pin(ecu, "5", PinRole::kReference);
  m.pin(ecu, "6", PinRole::kLowSide);
  m.pin(ecu, "7", PinRole::kGround);
  input.pull_up_ohm = 0.0;
  input.pull_down_ohm = 2200.0;
  m.pin(ecu, "", "8", input);
  const DrawnUniverse d(m.loom);
  EXPECT_EQ(d.of("ECU"), (Names{"dead", "comes and goes"}));
  EXPECT_EQ(d.of("ECU:1"), (Names{"open", "high", "comes and goes", "supply open inside"}));
  EXPECT_EQ(d.of("ECU:2"),
            (Names{"open", "high", "comes and goes", "input damaged", "input leaks to supply", "pull-up open inside"}));
  const Names output{"open",        "high",         "comes and goes",       "output dead", "output stuck on",
                     "output weak", "output leaks", "output shorted inside"};
  EXPECT_EQ(d.of("ECU:3"), output);
  EXPECT_EQ(d.of("ECU:4"), (Names{"open", "high", "comes and goes", "return open inside"}));
  EXPECT_EQ(d.of("ECU:5"), (Names{"open", "high", "comes and goes", "reference open inside", "reference weak inside",
                                  "reference shorted inside"}));
  EXPECT_EQ(d.of("ECU:6"), output);
  EXPECT_EQ(d.of("ECU:7"), (Names{"open", "high", "comes and goes", "ground open inside"}));
  EXPECT_TRUE(d.names.contains("ECU:8 pull-down open inside"));
  EXPECT_EQ(d.of("ECU:1+2"), (Names{"touch", "swapped", "water"}));
  const circuit::ModuleWiring& inner = d.netlist.modules[0];
  EXPECT_EQ(d.fault("ECU:3 output shorted inside").b, inner.ground) << "high side: the pin goes to ground";
  EXPECT_EQ(d.fault("ECU:6 output shorted inside").b, inner.supply) << "low side: the pin goes to supply";
  EXPECT_EQ(d.fault("ECU:3 output shorted inside").a, inner.pin_node[2]);
  EXPECT_EQ(d.fault("ECU:6 output shorted inside").a, inner.pin_node[5]);
  EXPECT_EQ(d.fault("ECU:2 input leaks to supply").b, inner.supply);
}

TEST(Universe, OfEveryOtherPart) {
  LoomMaker m;
  const PartId relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
  m.wire(m.at(relay, "87a"), m.at(m.splice("S1")));
  m.part(PartKind::kRelay, "K2", {{"coil_ohm", 200.0}});
  m.part(PartKind::kSwitch, "S");
  m.part(PartKind::kDiode, "D");
  m.part(PartKind::kMotor, "M", {{"ohm", 1.0}});
  m.part(PartKind::kResistor, "R", {{"ohm", 1.0}});
  m.part(PartKind::kPotentiometer, "P", {{"ohm", 1000.0}, {"at", 0.5}});
  m.part(PartKind::kNtc, "N", {{"r25_ohm", 2000.0}, {"b_k", 3500.0}, {"at", 25.0}});
  m.part(PartKind::kAlternator, "A");
  m.loom.parts[m.part(PartKind::kLamp, "L", {{"watt", 2.0}}).index()].led = true;
  m.loom.parts[m.part(PartKind::kThreeWireSensor, "B", {{"at", 5.0}}).index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
  const DrawnUniverse d(m.loom);
  const Names plain_relay{"coil open", "coil shorted", "stuck open", "stuck closed", "burnt", "comes and goes"};
  EXPECT_EQ(d.of("K2"), plain_relay);
  Names change_over = plain_relay;
  change_over.insert("87a burnt");
  EXPECT_EQ(d.of("K1"), change_over);
  EXPECT_EQ(d.of("S"), (Names{"stuck open", "stuck closed", "burnt", "comes and goes"}));
  EXPECT_EQ(d.of("D"), (Names{"open", "shorted"}));
  EXPECT_EQ(d.of("M"), (Names{"open", "shorted", "to ground", "wrong value", "comes and goes"}));
  EXPECT_EQ(d.of("R"), (Names{"open", "wrong value"}));
  EXPECT_EQ(d.of("P"), (Names{"1-2 open", "1-2 shorted", "1-2 wrong value", "2-3 open", "2-3 shorted", "stuck",
                              "wiper open", "wiper high", "wiper comes and goes"}));
  EXPECT_EQ(d.of("N"), (Names{"open", "shorted", "wrong value", "comes and goes"}));
  EXPECT_EQ(d.of("A"), (Names{"no charge", "weak", "low charge", "overcharge", "leaks"}));
  EXPECT_EQ(d.of("L"), (Names{"open", "shorted", "wrong value", "comes and goes"}));
  EXPECT_EQ(d.of("B"), (Names{"dead", "shorted", "wrong value", "stuck", "comes and goes"}));
  EXPECT_EQ(d.of("P:1+2"), (Names{"touch", "swapped", "water"}));
  EXPECT_EQ(d.of("N:1+2"), (Names{"touch", "water"}));
  EXPECT_EQ(d.of("L:1+2"), (Names{"touch", "swapped", "water"})) << "light one way only";
  EXPECT_NE(d.fault("N shorted").repair, d.fault("N:1+2 touch").repair);
}

TEST(Universe, AMotorTouchesItsHousingWhereItIsNotAtGround) {
  LoomMaker m;
  const PartId one = m.part(PartKind::kMotor, "M1", {{"ohm", 1.0}});
  const PartId two = m.part(PartKind::kMotor, "M2", {{"ohm", 1.0}});
  m.wire(m.at(one, "1"), m.chassis());
  for (const char* terminal : {"1", "2"}) m.wire(m.at(two, terminal), m.chassis());
  const DrawnUniverse d(m.loom);
  const circuit::NodeId live = d.netlist.points[d.netlist.point_by_name.at("M1:2@unit").index()].node;
  EXPECT_EQ(d.fault("M1 to ground").a, live);
  EXPECT_FALSE(d.names.contains("M2 to ground"));
}

TEST(Universe, RatesGrowWithStressAndWithTheItemsOwnRate) {
  LoomMaker m;
  const PlaceId hinge = m.place("cab hinge");
  m.loom.places[hinge.index()].stress = {Stress::kFlex, Stress::kChafe};
  m.wire(m.at(m.splice("A")), m.at(m.splice("B")));
  m.wire(m.at(m.splice("C")), m.at(m.splice("D")));
  m.loom.wires[1].place = hinge;
  m.loom.wires[1].rate = 2.0;
  const DrawnUniverse d(m.loom);
  const double plain = d.fault("w0 to ground").rate_per_year;
  EXPECT_DOUBLE_EQ(plain, rate_of("wire", FaultKind::kToGround).per_year);
  EXPECT_DOUBLE_EQ(d.fault("w1 to ground").rate_per_year, 2.0 * plain *
                                                              stress_factor(FaultKind::kToGround, {Stress::kFlex}) *
                                                              stress_factor(FaultKind::kToGround, {Stress::kChafe}));
  EXPECT_GT(d.fault("w1 to ground").rate_per_year, 10.0 * plain);
}

TEST(Universe, LearnedRatesScaleTheirRowAndNoOther) {
  LoomMaker m;
  m.wire(m.at(m.splice("A")), m.at(m.splice("B")));
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  RateOverlay learned;
  learned.set("wire", FaultKind::kOpen, 3.0);
  const Universe plain = make_universe(m.loom, netlist);
  const Universe taught = make_universe(m.loom, netlist, learned);
  ASSERT_EQ(plain.faults.size(), taught.faults.size());
  for (std::size_t i = 0; i < plain.faults.size(); ++i) {
    const Fault& fault = plain.faults[i];
    const bool its = fault.row == "wire" && fault.kind == FaultKind::kOpen;
    EXPECT_DOUBLE_EQ(taught.faults[i].rate_per_year, fault.rate_per_year * (its ? 3.0 : 1.0)) << fault.name;
  }
  EXPECT_TRUE(
      std::any_of(plain.faults.begin(), plain.faults.end(), [](const Fault& f) { return f.name == "w0 open"; }));
}

TEST(Universe, FaultsThatOneRepairMendsShareIt) {
  LoomMaker m;
  const ConnectorId plug = m.plug("J1", {"1", "2"});
  for (const char* cavity : {"1", "2"}) m.wire(m.at(plug, 0, cavity), m.at(m.splice(cavity)));
  const DrawnUniverse d(m.loom);
  EXPECT_EQ(d.fault("J1:1 open").repair, d.fault("J1:1 high").repair);
  EXPECT_NE(d.fault("J1:1 open").repair, d.fault("J1:2 open").repair);
  EXPECT_EQ(d.universe.repairs.at(d.fault("J1:1 open").repair.index()).unplugs, plug);
  EXPECT_TRUE(d.universe.find("J1:1 vanished").is_none());
}

// Every kind of fault that can come up has a row, and severities run upward from something positive or from nothing.
TEST(Rates, EveryRowIsUsable) {
  for (const RateRecord& row : rate_table()) {
    EXPECT_GT(row.per_year, 0.0) << row.item;
    EXPECT_LE(row.low, row.high) << row.item;
    if (row.high > row.low && row.logarithmic) {
      EXPECT_GT(row.low, 0.0) << row.item;
    }
    EXPECT_EQ(&rate_of(row.item, row.kind), &row) << row.item << " stands twice";
  }
  EXPECT_THROW(static_cast<void>(rate_of("contact", FaultKind::kFlat)), base::Bug);
}

}  // namespace
}  // namespace halfsplit::fault
