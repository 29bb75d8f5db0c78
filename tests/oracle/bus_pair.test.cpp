// SPDX-License-Identifier: Apache-2.0
// A terminated pair under a meter (tests/data/facts/meter_practice.csv, can_levels.csv): ohms with the supply off,
// levels at rest and held dominant, faults on either line. Source and basis beside each. Edges, bits and messages are
// not looked at here.
#include <gtest/gtest.h>

#include <cmath>

#include "predict/campaign.h"
#include "tests/oracle/facts.h"
#include "tests/oracle/on_vehicle.h"

namespace halfsplit::oracle {
namespace {

using circuit::Configuration;
using circuit::PartId;
using circuit::PartKind;
using circuit::test::LoomMaker;

double fact(const std::string& check, const std::string& meaning) {
  for (const FactRow& row : read_facts("meter_practice.csv"))
    if (row.text("check") == check && row.text("meaning").starts_with(meaning)) return row.number("limit_or_reading");
  ADD_FAILURE() << "no row " << check << ": " << meaning;
  return 0.0;
}

// Two public guides to bus termination (source); 30 ohm computed; the zero and the thousand are common practice.
TEST(BusPair, ReadsSixtyHundredTwentyAndForty) {
  const std::string check = "CAN resistance";
  OnVehicle bus = Bus().at_rest();
  const auto ohms = [&] { return bus.ohms("BODY:3", "BODY:4").value; };
  EXPECT_NEAR(ohms() / fact(check, "both terminators present"), 1.0, 0.01);
  bus.put({{"T1 missing", 0.0}});
  EXPECT_NEAR(ohms() / fact(check, "one terminator missing"), 1.0, 0.01);
  bus.put({{"w4 open", 0.0}});
  EXPECT_NEAR(ohms() / fact(check, "one terminator missing"), 1.0, 0.01) << "a line broken before it reads the same";
  bus.put({{"ENGINE terminator missing", 0.0}});
  EXPECT_NEAR(ohms() / fact(check, "one terminator missing"), 1.0, 0.01);
  bus.put({{"T1 doubled", 120.0}});
  EXPECT_NEAR(ohms() / fact(check, "a third terminator fitted"), 1.0, 0.01);
  bus.put({{"w2+w3 touch", 0.01}});
  EXPECT_LT(ohms(), 1.0) << "lines shorted together";
  bus.put({{"T1 missing", 0.0}, {"ENGINE terminator missing", 0.0}});
  EXPECT_GT(ohms(), 1000.0) << "no terminator reached";
  bus.put({{"w2 open", 0.0}});
  EXPECT_GT(ohms(), 1000.0) << "open at the plug";
}

// Common practice: to ground, supply off, a kilohm and more; less is a line shorted to ground. 60 ohm says nothing of
// that.
TEST(BusPair, AgainstGroundIsAboveAKilohmUnlessALineIsShorted) {
  OnVehicle bus = Bus().at_rest();
  EXPECT_GT(bus.ohms("BODY:3", "chassis").value, 1000.0);
  bus.put({{"w2 to ground", 0.05}});
  EXPECT_LT(bus.ohms("BODY:3", "chassis").value, 1.0);
  EXPECT_NEAR(bus.ohms("BODY:3", "BODY:4").value, 60.0, 0.6);
}

// ISO 11898-2 recessive level through the receivers' bias (data sheets); a meter reads from 2.5 V up on the one and
// from 2.5 V down on the other line (common practice).
TEST(BusPair, IdlesAtTwoAndAHalfVolts) {
  Bus bus;
  Configuration on;
  on.made = {bus.key};
  OnVehicle vehicle(bus.loom, on);
  EXPECT_NEAR(vehicle.volts("BODY:3", "chassis"), 2.5, 0.05);
  EXPECT_NEAR(vehicle.volts("BODY:4", "chassis"), 2.5, 0.05);
}

// 120 / 4 (computed): a bus with four terminators drawn.
TEST(BusPair, ReadsThirtyWithFourTerminators) {
  LoomMaker m;
  const circuit::EndPoint high = m.at(m.splice("SH")), low = m.at(m.splice("SL"));
  for (const char* name : {"T1", "T2", "T3", "T4"}) {
    const PartId end = m.part(PartKind::kTerminator, name);
    m.wire(high, m.at(end, "1"), 0.5, 2.0);
    m.wire(low, m.at(end, "2"), 0.5, 2.0);
  }
  EXPECT_NEAR(OnVehicle(m.loom).ohms("SH", "SL").value / fact("CAN resistance", "four terminators"), 1.0, 0.01);
}

// A public article (source): a reading at rest can pass a joint that comes and goes. Half of what we predict is 60 ohm.
TEST(BusPair, AJointThatComesAndGoesCanReadSixty) {
  const Bus bus;
  const circuit::Netlist netlist = circuit::build_netlist(bus.loom);
  const fault::Universe universe = fault::make_universe(bus.loom, netlist);
  predict::Campaign campaign(bus.loom, netlist, universe);
  evidence::Observable what;
  what.kind = evidence::Kind::kOhms;
  what.red = *circuit::find_point(netlist, "BODY:3");
  what.black = *circuit::find_point(netlist, "BODY:4");
  const evidence::Prediction read = campaign.predict_one({{{universe.find("SH to w4 comes and goes"), 0.5}}}, what);
  ASSERT_EQ(read.components.size(), 2U);
  EXPECT_NEAR(read.components[0].mean, 120.0, 1.2);
  EXPECT_NEAR(read.components[1].mean, 60.0, 0.6);
  EXPECT_GT(read.components[1].weight, 0.2);
}

// ---- can_levels.csv: ISO 11898-2 by transceivers' data sheets (source) unless a row says memory

FactRow level(const std::string& quantity, const std::string& state, const std::string& condition) {
  for (const FactRow& row : read_facts("can_levels.csv"))
    if (row.text("standard") == "ISO 11898-2:2016" && row.text("quantity") == quantity &&
        row.text("state_or_place").starts_with(state) && row.text("condition").starts_with(condition))
      return row;
  ADD_FAILURE() << "no row " << quantity << ", " << state << ", " << condition;
  return FactRow({{"min", "0"}, {"max", "0"}, {"nominal", "0"}});
}
void expect_inside(double value, const FactRow& row, const char* what) {
  EXPECT_GE(value, row.number("min")) << what;
  EXPECT_LE(value, row.number("max")) << what;
}

// Resistances (memory but the load): a node's own, each line and across; a terminator; what a driver sees.
TEST(BusLevels, ResistancesLieInTheirBands) {
  LoomMaker m;
  const circuit::ModuleId node = m.module("NODE");
  m.pin(node, "3", circuit::PinRole::kCanHigh);
  m.pin(node, "4", circuit::PinRole::kCanLow);
  OnVehicle alone(m.loom);
  const double kilohm = 1.0e-3;
  expect_inside(kilohm * alone.ohms("NODE:3", "NODE:4").value, level("differential internal resistance", "node", "one"),
                "across a node");
  const double to_rail = kilohm * circuit::Defaults().can_input_ohm;
  expect_inside(to_rail, level("single-ended internal resistance", "node", "each"), "each line of a node");
  LoomMaker p;
  const PartId end = p.part(PartKind::kTerminator, "T");
  expect_inside(circuit::part_value(p.loom.parts[end.index()], "ohm"), level("termination resistor", "each end", "two"),
                "a terminator");
  expect_inside(Bus().at_rest().ohms("BODY:3", "BODY:4").value, level("total bus load seen by a driver", "bus", ""),
                "a whole bus");
}

struct LiveBus {
  Bus bus;
  Configuration on;
  LiveBus() { on.made = {bus.key}; }
  OnVehicle vehicle() const { return OnVehicle(bus.loom, on); }
};

TEST(BusLevels, RecessiveLiesInItsBands) {
  OnVehicle v = LiveBus().vehicle();
  expect_inside(v.volts("BODY:3", "chassis"), level("bus voltage CAN_H", "recessive", ""), "high");
  expect_inside(v.volts("BODY:4", "chassis"), level("bus voltage CAN_L", "recessive", ""), "low");
  expect_inside(v.volts("BODY:3", "BODY:4"), level("differential CAN_H-CAN_L", "recessive", "bus loaded"), "across");
  expect_inside(v.volts("BODY:3", "BODY:4"), level("differential CAN_H-CAN_L", "recessive", "no load"), "across");
}

// Key off: no bias, 0 V on both lines.
TEST(BusLevels, WithoutBiasLiesAtZero) {
  OnVehicle v = Bus().at_rest();
  expect_inside(v.volts("BODY:3", "chassis"), level("bus voltage, bias off", "low power", ""), "high");
  expect_inside(v.volts("BODY:4", "chassis"), level("bus voltage, bias off", "low power", ""), "low");
}

// As the listener's data sheet tells dominant from recessive: 0.9 V and 0.5 V. The transmitter is BODY.
TEST(BusLevels, DominantLiesInItsBandsForEveryLoadOfTheDataSheet) {
  const auto held = [](const std::vector<std::pair<std::string, double>>& faults, double extra_ohm, const char* red,
                       const char* black) {
    LiveBus live;
    live.bus.loom.modules[0].inside.clear();  // one terminator of the value wanted instead of two of 120
    for (circuit::Part& part : live.bus.loom.parts)
      if (part.kind == PartKind::kTerminator)
        part.values[circuit::field_index(PartKind::kTerminator, "ohm")] = extra_ohm;
    OnVehicle v = live.vehicle();
    EXPECT_TRUE(faults.empty());
    v.hold_dominant(1, "BODY:3", "BODY:4");
    return v.volts(red, black);
  };
  for (const double load : {50.0, 60.0, 65.0}) {
    expect_inside(held({}, load, "BODY:3", "chassis"), level("bus voltage CAN_H", "dominant", "load 50"), "high");
    expect_inside(held({}, load, "BODY:4", "chassis"), level("bus voltage CAN_L", "dominant", "load 50"), "low");
    expect_inside(held({}, load, "BODY:3", "BODY:4"), level("differential CAN_H-CAN_L", "dominant", "load 50"),
                  "across");
  }
  for (const double load : {45.0, 50.0})
    expect_inside(held({}, load, "BODY:3", "BODY:4"), level("differential CAN_H-CAN_L", "dominant", "load 45"),
                  "across");
  expect_inside(held({}, 2240.0, "BODY:3", "BODY:4"), level("differential CAN_H-CAN_L", "dominant", "load 2240"),
                "across");
  EXPECT_GT(held({}, 60.0, "BODY:3", "BODY:4"), level("receiver differential input", "dominant", "").number("min"));
  EXPECT_NEAR(held({}, 60.0, "BODY:3", "BODY:4"),
              level("differential CAN_H-CAN_L", "dominant", "load 50").number("nominal"), 0.05);
}

// A listener takes at most 0.5 V for recessive: a healthy bus at rest, a dead one, and one whose line is broken.
TEST(BusLevels, RecessiveIsReadAsRecessive) {
  const double most = level("receiver differential input", "recessive", "").number("max");
  OnVehicle v = LiveBus().vehicle();
  EXPECT_LT(v.volts("BODY:3", "BODY:4"), most);
  v.put({{"w2 open", 0.0}});
  EXPECT_LT(v.volts("BODY:3", "BODY:4"), most);
}

}  // namespace
}  // namespace halfsplit::oracle
