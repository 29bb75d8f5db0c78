// SPDX-License-Identifier: Apache-2.0
// What the trade expects of drops and loads (tests/data/facts/meter_practice.csv), through whole looms: bad grounds,
// loaded and unloaded feeds, starters, sockets. Source and basis beside each.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/oracle/facts.h"
#include "tests/oracle/on_vehicle.h"

namespace halfsplit::oracle {
namespace {

using circuit::Configuration;
using circuit::PartId;
using circuit::PartKind;
using circuit::test::LoomMaker;

double practice_fact(const std::string& check, const std::string& meaning) {
  for (const FactRow& row : read_facts("meter_practice.csv"))
    if (row.text("check") == check && row.text("meaning").starts_with(meaning)) return row.number("limit_or_reading");
  ADD_FAILURE() << "no row " << check << ": " << meaning;
  return 0.0;
}

// A battery maker's handout (source): a starter's 200 A through 0.01 and 0.02 ohm.
TEST(Practice, StarterCableDropsTwoVoltsThroughAHundredthOfAnOhm) {
  for (const double ohm : {0.01, 0.02}) {
    LoomMaker m(12.0);
    m.make_joints(1.0e-9);
    const PartId battery = m.part(PartKind::kBattery, "BATT", {{"volt", 12.0}, {"ohm", 1.0e-9}});
    const PartId starter = m.part(PartKind::kMotor, "M", {{"ohm", 12.0 / 200.0 - ohm}}, false);
    m.wire(m.at(battery, "+"), m.at(starter, "1"), ohm);
    m.wire(m.at(starter, "2"), m.at(battery, "-"), 1.0e-9);
    OnVehicle vehicle(m.loom);
    EXPECT_NEAR(vehicle.clamp(0), 200.0, 0.1);
    EXPECT_NEAR(vehicle.volts("BATT:+", "M:1"), 200.0 * ohm, 0.01);
  }
}

// A feed of a 24 V vehicle through a fuse and a plug to a socket, with the ground back; `lamp`: 21 W plugged in as a
// load.
circuit::Loom socket_loom(bool lamp) {
  LoomMaker m;
  const PartId battery = m.part(PartKind::kBattery, "BATT", {{"volt", 25.2}});
  const PartId fuse = m.part(PartKind::kFuse, "F1", {{"rating_a", 15.0}});
  const auto plug = m.plug("X1", {"1", "4"}, "truck", "trailer");
  m.wire(m.at(battery, "+"), m.at(fuse, "1"), 2.5, 1.0);
  m.wire(m.at(fuse, "2"), m.at(plug, 0, "1"), 2.5, 8.0);
  m.wire(m.at(plug, 0, "4"), m.at(m.stud("G1")), 2.5, 2.0);
  m.wire(m.at(battery, "-"), m.chassis(), 25.0, 1.0);
  if (lamp) {
    const PartId load = m.part(PartKind::kLamp, "L", {{"watt", 21.0}}, false);
    m.wire(m.at(plug, 1, "1"), m.at(load, "1"), 2.5, 0.5);
    m.wire(m.at(load, "2"), m.at(plug, 1, "4"), 2.5, 0.5);
  }
  return m.loom;
}

// A brake-system supplier's public cable guide, ISO 7638 socket (source): the supply read with a 21 W lamp as load;
// near battery voltage good, lower: resistance in feed or return; none: open. A meter alone does not see the
// resistance.
TEST(Practice, ALoadShowsTheResistanceThatAMeterAloneDoesNot) {
  OnVehicle bare(socket_loom(false));
  OnVehicle loaded(socket_loom(true));
  const auto both = [&](const std::vector<std::pair<std::string, double>>& faults) {
    bare.put(faults);
    loaded.put(faults);
    return std::pair(bare.volts("X1:1@truck", "X1:4@truck"), loaded.volts("X1:1@trailer", "X1:4@trailer"));
  };
  const auto healthy = both({});
  EXPECT_NEAR(healthy.first, 25.2, 0.05);
  EXPECT_NEAR(healthy.second, 25.2, 0.4);
  for (const char* fault : {"w1 high", "G1 high"}) {
    const auto resistive = both({{fault, 20.0}});
    EXPECT_NEAR(resistive.first, 25.2, 0.05) << fault;
    EXPECT_LT(resistive.second, 18.0) << fault;
  }
  const auto open = both({{"w1 open", 0.0}});
  EXPECT_NEAR(open.first, 0.0, 0.01);
  EXPECT_NEAR(open.second, 0.0, 0.01);
}

// The same with our own test lamp between the socket's pins.
TEST(Practice, TestLampFindsWhatTheVoltmeterMisses) {
  OnVehicle vehicle(socket_loom(false));
  vehicle.put({{"w1 high", 300.0}});
  EXPECT_NEAR(vehicle.volts("X1:1@truck", "X1:4@truck"), 25.2, 0.05);
  EXPECT_LT(vehicle.lamp_on("X1:1@truck", "X1:4@truck"), electrical::kDarkBelow * 24.0);
}

// Training pages and a repair manual (source): a good ground or feed drops 0.1 to 0.2 V at most; a bad one more.
TEST(Practice, GoodWiringStaysBelowThePublishedDropLimits) {
  OnVehicle loaded(socket_loom(true));
  EXPECT_LT(loaded.volts("X1:4@truck", "chassis"), practice_fact("voltage drop", "above: bad ground"));
  EXPECT_LT(loaded.volts("F1:2", "X1:1@truck"), practice_fact("voltage drop", "above: wire or joint resistance"));
  loaded.put({{"G1 high", 1.0}});
  EXPECT_GT(loaded.volts("X1:4@truck", "chassis"), practice_fact("voltage drop", "above: bad ground"));
}

double practice_limit(const std::string& place) {
  for (const FactRow& row : read_facts("meter_practice.csv"))
    if (row.text("check") == "voltage drop" && row.text("place") == place) return row.number("limit_or_reading");
  ADD_FAILURE() << "no row voltage drop: " << place;
  return 0.0;
}

// A 24 V vehicle's heavy side: battery, cables, a starter of near 200 A, an alternator of 80 A into the battery, a
// window motor of 10 A behind a switch and a relay contact. Wires are named in the order they are made. Lugs of 0.1
// mohm: with the format's default of 1 mohm, that of a signal wire, a starter's own lugs would exceed the limits.
circuit::Loom heavy_loom() {
  LoomMaker m;
  m.loom.defaults.stud_ohm = 0.0001;
  const PartId battery = m.part(PartKind::kBattery, "BATT", {{"ohm", 0.005}});
  const PartId starter = m.part(PartKind::kMotor, "STARTER", {{"ohm", 0.12}}, false);
  const PartId button = m.part(PartKind::kSwitch, "SW", {}, false);
  const PartId relay = m.part(PartKind::kRelay, "K", {{"coil_ohm", 300.0}}, false);
  const PartId motor = m.part(PartKind::kMotor, "M", {{"ohm", 2.4}}, true);
  m.loom.parts[button.index()].normally_closed = true;
  m.wire(m.at(battery, "+"), m.at(starter, "1"), 95.0, 2.0);  // w0
  m.wire(m.at(starter, "2"), m.at(m.stud("GE")), 95.0, 0.5);  // w1
  m.wire(m.at(battery, "-"), m.at(m.stud("GB")), 95.0, 0.6);  // w2
  m.wire(m.at(battery, "+"), m.at(button, "1"), 6.0, 2.0);    // w3
  m.wire(m.at(button, "2"), m.at(relay, "30"), 6.0, 1.0);     // w4
  m.wire(m.at(relay, "87"), m.at(motor, "1"), 4.0, 2.0);      // w5
  m.wire(m.at(motor, "2"), m.at(m.stud("GM")), 4.0, 1.0);     // w6
  m.wire(m.at(button, "2"), m.at(relay, "86"), 1.0, 1.0);     // w7
  m.wire(m.at(relay, "85"), m.chassis(), 1.0, 1.0);           // w8
  return m.loom;
}

// A training page, a repair manual's recommendations and a public article (source), row by row: a healthy vehicle stays
// below each limit.
TEST(Practice, HealthyHeavyCircuitsStayBelowEveryPublishedDrop) {
  OnVehicle v(heavy_loom());
  ASSERT_GT(v.clamp(0), 180.0);
  ASSERT_GT(v.clamp(5), 9.0);
  const auto drop = [&](const char* red, const char* black) { return std::abs(v.volts(red, black)); };
  EXPECT_LT(drop("BATT:+", "STARTER:1"), practice_limit("starter feed, positive side"));
  EXPECT_LT(drop("STARTER:2", "BATT:-"), practice_limit("starter return"));
  EXPECT_LT(drop("BATT:+", "STARTER:1") + drop("STARTER:2", "BATT:-"), 2.0 * practice_limit("starter cable, total"));
  EXPECT_LT(drop("BATT:+", "STARTER:1"), practice_limit("starter cable, total"));
  EXPECT_LT(drop("SW:1", "SW:2"), practice_limit("switch"));
  EXPECT_LT(drop("K:30", "K:87"), practice_limit("switch or solenoid contact"));
  EXPECT_LT(drop("BATT:+", "SW:1"), practice_limit("high-current cable"));
  EXPECT_LT(drop("GM", "chassis"), practice_limit("high-current connection"));
  EXPECT_LT(drop("M:1", "M:1@unit"), 0.1) << "a small connection shows 0.0 V";
  EXPECT_NEAR(drop("M:1", "M:1@unit"), practice_limit("small wire connection"), 0.05);
  EXPECT_LT(drop("M:2", "BATT:-"), practice_limit("any part of a circuit"));
  EXPECT_LT(drop("BATT:+", "M:1"), practice_limit("any part of a circuit"));
}

// And each joint that is bad by the least of our ranges, at the current that flows there, is seen by the same limits.
TEST(Practice, BadJointsOfTheSameCircuitsExceedThem) {
  OnVehicle v(heavy_loom());
  const auto drop = [&](const char* fault, double ohm, const char* red, const char* black) {
    v.put({{fault, ohm}});
    return std::abs(v.volts(red, black));
  };
  EXPECT_GT(drop("SW burnt", 0.2, "SW:1", "SW:2"), practice_limit("switch"));
  EXPECT_GT(drop("K burnt", 0.2, "K:30", "K:87"), practice_limit("switch or solenoid contact"));
  EXPECT_GT(drop("GM high", 0.1, "M:2", "chassis"), practice_limit("ground side"));
  EXPECT_GT(drop("GE high", 0.1, "STARTER:2", "BATT:-"), practice_limit("starter return"));
  EXPECT_GT(drop("w0 high", 0.2, "BATT:+", "STARTER:1"), practice_limit("starter feed, positive side"));
  EXPECT_GT(drop("M:1 high", 0.2, "M:1", "M:1@unit"), practice_limit("any part of a circuit"));
}

// A public article (source): the charging side at 80 A into a battery that takes it.
TEST(Practice, ChargingSideStaysBelowThePublishedDrops) {
  LoomMaker m;
  const circuit::SetupId runs = m.setup("engine runs");
  const PartId battery = m.part(PartKind::kBattery, "BATT", {{"volt", 24.4}, {"ohm", 0.02}});
  const PartId alternator = m.part(PartKind::kAlternator, "ALT");
  m.loom.parts[alternator.index()].runs_with = {runs};
  m.wire(m.at(alternator, "+"), m.at(battery, "+"), 50.0, 2.0);
  m.wire(m.at(alternator, "-"), m.chassis(), 50.0, 0.4);
  m.wire(m.at(battery, "-"), m.chassis(), 95.0, 0.6);
  Configuration engine;
  engine.made = {runs};
  OnVehicle v(m.loom, engine);
  EXPECT_NEAR(v.clamp(0), 85.0, 15.0);
  EXPECT_LT(v.volts("ALT:+", "BATT:+"), practice_limit("charging positive side"));
  EXPECT_LT(std::abs(v.volts("ALT:-", "BATT:-")), practice_limit("charging return"));
  v.put({{"ALT:+ to w0 high", 0.1}});
  EXPECT_GT(v.volts("ALT:+", "BATT:+"), practice_limit("charging positive side"));
}

// A brake-system supplier's cable guide (source): the supply wire from end to end reads at most 5 ohm; and the pins
// that are switched show no volts with the switch off, unless something is joined wrongly.
TEST(Practice, TrailerBrakeSupplyEndToEndAndSwitchedPins) {
  LoomMaker m;
  const PartId battery = m.part(PartKind::kBattery, "BATT");
  const PartId key = m.part(PartKind::kSwitch, "KEY");
  const auto socket = m.plug("X1", {"1", "2", "4"}, "truck", "trailer");
  const PartId valve = m.part(PartKind::kSolenoid, "Y", {{"ohm", 20.0}});
  m.wire(m.at(battery, "+"), m.at(key, "1"), 4.0, 3.0);
  m.wire(m.at(key, "2"), m.at(socket, 0, "2"), 4.0, 8.0);
  m.wire(m.at(socket, 1, "2"), m.at(valve, "1"), 4.0, 12.0);  // w2, the trailer's supply wire
  m.wire(m.at(valve, "2"), m.at(socket, 1, "4"), 4.0, 12.0);
  m.wire(m.at(socket, 0, "4"), m.chassis(), 4.0, 3.0);
  m.wire(m.at(battery, "-"), m.chassis(), 25.0, 1.0);
  OnVehicle v(m.loom);
  const double most = practice_fact("continuity", "above: wiring resistance");
  EXPECT_LT(v.ohms("X1:2@trailer", "Y:1").value, most);
  v.put({{"Y:1 high", 6.0}});
  EXPECT_GT(v.ohms("X1:2@trailer", "Y:1@unit").value, most);
  v.put({});
  EXPECT_NEAR(v.volts("X1:2@truck", "X1:4@truck"), 0.0, 0.01);
  v.put({{"w2 to supply", 0.1}});
  EXPECT_GT(v.volts("X1:2@truck", "X1:4@truck"), 20.0);
}

// Lessons in Electric Circuits, metering (source, 10 Mohm called common).
TEST(Practice, OurVoltmeterIsTheCommonOne) {
  EXPECT_EQ(meters::default_meter().input_ohm, 1.0e6 * practice_fact("meter input", "floating wires"));
}

}  // namespace
}  // namespace halfsplit::oracle
