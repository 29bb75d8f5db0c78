// SPDX-License-Identifier: Apache-2.0
// What a fault does to the circuit (docs/formats/loom.md, "Faults"), as changes.
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "circuit/test_loom.h"
#include "fault/fault.h"

namespace halfsplit::fault {
namespace {

using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::test::LoomMaker;

struct Drawn {
  circuit::Netlist netlist;
  Universe universe;
  explicit Drawn(const circuit::Loom& loom)
      : netlist(circuit::build_netlist(loom)), universe(make_universe(loom, netlist)) {}
  const Fault& fault(const std::string& name) const {
    const FaultId id = universe.find(name);
    if (id.is_none()) throw std::runtime_error("no fault " + name);
    return universe.faults[id.index()];
  }
  std::vector<Change> changes(const std::string& name, double severity = 0.0) const {
    return changes_of(netlist, fault(name), severity);
  }
  const circuit::Element& element(const Change& change) const { return netlist.elements.at(change.element.index()); }
};

TEST(Changes, OpensAreInfiniteAndResistancesAreAdded) {
  LoomMaker m;
  const auto plug = m.plug("J1", {"1", "2"});
  m.wire(m.chassis(), m.at(plug, 0, "1"), 0.1);
  const Drawn drawn(m.loom);
  for (const char* name : {"J1:1 open", "J1:1 comes and goes", "w0 open"}) {
    const auto changes = drawn.changes(name);
    ASSERT_EQ(changes.size(), 1U) << name;
    EXPECT_TRUE(changes[0].kind == Change::Kind::kOhm && std::isinf(changes[0].value)) << name;
  }
  EXPECT_DOUBLE_EQ(drawn.changes("J1:1 high", 3.0).at(0).value, 3.005);
  EXPECT_DOUBLE_EQ(drawn.changes("w0 high", 3.0).at(0).value, 3.1);
}

TEST(Changes, SwappedPinsOpenBothContactsAndCrossThemWhileThePlugIsTogether) {
  LoomMaker m;
  const auto plug = m.plug("J1", {"1", "2"});
  for (const char* cavity : {"1", "2"}) m.wire(m.at(plug, 0, cavity), m.at(m.splice(cavity)), 0.1);
  const Drawn drawn(m.loom);
  const auto changes = drawn.changes("J1:1+2 swapped");
  ASSERT_EQ(changes.size(), 4U);
  const circuit::Element& one = drawn.element(changes[0]);
  const circuit::Element& two = drawn.element(changes[1]);
  EXPECT_TRUE(std::isinf(changes[0].value) && std::isinf(changes[1].value));
  EXPECT_EQ(changes[2].a, one.a);
  EXPECT_EQ(changes[2].b, two.b);
  EXPECT_EQ(changes[3].a, two.a);
  EXPECT_EQ(changes[3].b, one.b);
  EXPECT_EQ(changes[2].connector, plug);
  EXPECT_EQ(changes[3].connector, plug);
}

TEST(Changes, ChangeOverContactsMoveTogether) {
  LoomMaker m;
  const PartId relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
  for (const char* terminal : {"30", "87", "87a"}) m.wire(m.at(relay, terminal), m.at(m.splice(terminal)));
  const Drawn drawn(m.loom);
  for (const bool closed : {false, true}) {
    const auto changes = drawn.changes(closed ? "K1 stuck closed" : "K1 stuck open");
    ASSERT_EQ(changes.size(), 2U);
    for (const Change& change : changes) {
      EXPECT_EQ(change.kind, Change::Kind::kForce);
      EXPECT_EQ(change.value > 0.5, drawn.element(change).normally_closed != closed);
    }
  }
}

TEST(Changes, WhatSitsInsideAPartSaysWhichPart) {
  LoomMaker m;
  const PartId lamp = m.part(PartKind::kLamp, "L1", {{"watt", 21.0}});
  const PartId one = m.part(PartKind::kTerminator, "T1");
  m.part(PartKind::kTerminator, "T2");
  const Drawn drawn(m.loom);
  EXPECT_EQ(drawn.changes("L1 shorted", 0.5).at(0).part, lamp);
  EXPECT_EQ(drawn.fault("T1 doubled").item.index, one.value);
  EXPECT_TRUE(drawn.changes("T1 doubled", 120.0).at(0).part.is_none()) << "the one too many sits elsewhere";
}

TEST(Changes, ModuleFaultsNameTheModule) {
  LoomMaker m;
  const auto ecu = m.module("ECU");
  m.pin(ecu, "1", PinRole::kInput);
  const Drawn drawn(m.loom);
  EXPECT_EQ(drawn.changes("ECU dead").at(0).module, ecu);
  EXPECT_EQ(drawn.changes("ECU:1 input damaged", 500.0).at(0).module, ecu);
}

TEST(Changes, ValuesAreScaledFromTheDrawing) {
  LoomMaker m;
  m.part(PartKind::kBattery, "BATT", {{"volt", 25.0}});
  m.part(PartKind::kNtc, "B1", {{"r25_ohm", 2000.0}, {"b_k", 3500.0}, {"at", 25.0}});
  const Drawn drawn(m.loom);
  EXPECT_DOUBLE_EQ(drawn.changes("BATT flat", 0.8).at(0).value, 20.0);
  EXPECT_EQ(drawn.changes("BATT flat", 0.8).at(0).kind, Change::Kind::kVolt);
  EXPECT_DOUBLE_EQ(drawn.changes("BATT weak", 0.3).at(0).value, 0.3);
  EXPECT_DOUBLE_EQ(drawn.changes("B1 wrong value", 2.0).at(0).value, 4000.0);
}

TEST(Changes, OfAnAlternator) {
  LoomMaker m;
  const PartId alternator = m.part(PartKind::kAlternator, "ALT", {{"volt", 28.0}});
  const Drawn drawn(m.loom);
  EXPECT_DOUBLE_EQ(drawn.changes("ALT low charge", 0.9).at(0).value, -25.2) << "a diode whose knee is minus its volts";
  EXPECT_DOUBLE_EQ(drawn.changes("ALT overcharge", 1.2).at(0).value, -33.6);
  EXPECT_EQ(drawn.changes("ALT overcharge", 1.2).at(0).kind, Change::Kind::kVolt);
  EXPECT_DOUBLE_EQ(drawn.changes("ALT weak", 0.7).at(0).value, 0.7);
  const Change leak = drawn.changes("ALT leaks", 20.0).at(0);
  EXPECT_EQ(leak.kind, Change::Kind::kBranch);
  EXPECT_EQ(leak.part, alternator);
}

TEST(Changes, OfAPotentiometer) {
  LoomMaker m;
  m.part(PartKind::kPotentiometer, "P", {{"ohm", 1000.0}, {"at", 0.3}});
  const Drawn drawn(m.loom);
  const auto stuck = drawn.changes("P stuck", 0.9);
  ASSERT_EQ(stuck.size(), 2U);
  EXPECT_EQ(drawn.element(stuck[0]).name, "P:1-2");
  EXPECT_NEAR(stuck[0].value, 900.0, 1e-9);
  EXPECT_EQ(drawn.element(stuck[1]).name, "P:2-3");
  EXPECT_NEAR(stuck[1].value, 100.0, 1e-9);
  EXPECT_DOUBLE_EQ(drawn.changes("P stuck", 1.0).at(1).value, 0.5) << "never less";
  EXPECT_EQ(drawn.element(drawn.changes("P wiper open").at(0)).name, "P:wiper");
  EXPECT_NEAR(drawn.changes("P wiper high", 300.0).at(0).value, 300.0, 0.01);
}

TEST(Changes, OfAThreeWireSensor) {
  LoomMaker m;
  const PartId sensor = m.part(PartKind::kThreeWireSensor, "B", {{"at", 5.0}});
  m.loom.parts[sensor.index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
  const Drawn drawn(m.loom);
  EXPECT_EQ(drawn.changes("B wrong value", 1.2).at(0).kind, Change::Kind::kShare);
  EXPECT_DOUBLE_EQ(drawn.changes("B wrong value", 1.2).at(0).value, 0.6);
  const Change shorted = drawn.changes("B shorted", 0.1).at(0);
  EXPECT_EQ(shorted.part, sensor);
  EXPECT_EQ(shorted.a, drawn.element(drawn.changes("B dead").at(0)).c) << "from + to -: all its supply is pulled down";
}

TEST(Changes, WhatComesAndGoesIsAnOpenAShortOrADeadModule) {
  LoomMaker m;
  const auto ecu = m.module("ECU");
  m.wire(m.at(m.splice("A")), m.at(m.splice("B")));
  const Drawn drawn(m.loom);
  EXPECT_EQ(drawn.changes("w0 comes and goes").at(0).kind, Change::Kind::kOhm);
  EXPECT_EQ(drawn.changes("w0 to ground now and then", 0.1).at(0).kind, Change::Kind::kBranch);
  EXPECT_DOUBLE_EQ(drawn.changes("w0 to ground now and then", 0.1).at(0).value, 0.1);
  EXPECT_EQ(drawn.changes("ECU comes and goes").at(0).kind, Change::Kind::kDead);
  EXPECT_EQ(drawn.changes("ECU comes and goes").at(0).module, ecu);
}

// A short of a part to its housing goes with the part; one of a wire stays with the wire.
TEST(Changes, ToGroundInsideAPartSaysWhichPart) {
  LoomMaker m;
  const PartId motor = m.part(PartKind::kMotor, "M", {{"ohm", 1.0}});
  m.wire(m.at(motor, "1"), m.at(m.splice("A")));
  const Drawn drawn(m.loom);
  EXPECT_EQ(drawn.changes("M to ground", 0.1).at(0).part, motor);
  EXPECT_TRUE(drawn.changes("w0 to ground", 0.1).at(0).part.is_none());
}

TEST(Changes, EveryKindHasAWordOfItsOwn) {
  std::set<std::string_view> words;
  for (std::size_t i = 0; i < kFaultKinds; ++i) words.insert(fault_kind_word(static_cast<FaultKind>(i)));
  EXPECT_EQ(words.size(), kFaultKinds);
}

TEST(Changes, SeverityRunsFromLowToHigh) {
  Fault fault;
  fault.low = 0.2;
  fault.high = 20000.0;
  EXPECT_DOUBLE_EQ(severity_at(fault, 0.0), 0.2);
  EXPECT_NEAR(severity_at(fault, 1.0), 20000.0, 1.0e-6);
  EXPECT_NEAR(severity_at(fault, 0.5), std::sqrt(0.2 * 20000.0), 1.0e-9) << "evenly in the logarithm";
  fault.logarithmic = false;
  EXPECT_NEAR(severity_at(fault, 0.5), 10000.1, 1.0e-9);
  fault.high = fault.low;
  EXPECT_FALSE(has_range(fault));
  EXPECT_EQ(severity_at(fault, 0.7), 0.2);
}

}  // namespace
}  // namespace halfsplit::fault
