// SPDX-License-Identifier: Apache-2.0
// States of parts from power-up, in their order (docs/formats/loom.md, "States"), on circuits drawn as looms.
#include "electrical/states.h"

#include <gtest/gtest.h>

#include <cmath>

#include "circuit/test_loom.h"
#include "electrical/operating_point.h"

namespace halfsplit::electrical {
namespace {

using circuit::Configuration;
using circuit::EndPoint;
using circuit::ModuleId;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::SetupId;
using circuit::test::LoomMaker;
using circuit::test::Values;

// A 24 V battery with its minus at the chassis; what a test adds hangs between feed() and ground().
struct Bench {
  Bench() : battery(made.part(PartKind::kBattery, "BATT", {{"volt", 24.0}, {"ohm", 0.01}})) {
    made.wire(made.at(battery, "-"), made.chassis(), 0.001);
  }
  EndPoint feed() const { return made.at(battery, "+"); }
  EndPoint ground() const { return made.chassis(); }
  PartId between(PartKind kind, std::string name, Values values, const EndPoint& from, const EndPoint& to) {
    const PartId id = made.part(kind, std::move(name), values, false);
    made.wire(from, made.at(id, "1"), 0.001);
    made.wire(made.at(id, "2"), to, 0.001);
    return id;
  }
  PartId relay(std::string name, const EndPoint& coil_plus, const EndPoint& coil_minus,
               Values values = {{"coil_ohm", 200.0}}) {
    const PartId id = made.part(PartKind::kRelay, std::move(name), values, false);
    made.wire(coil_plus, made.at(id, "85"), 0.001);
    made.wire(made.at(id, "86"), coil_minus, 0.001);
    return id;
  }

  const OperatingPoint& solve(const Configuration& configuration = {}) {
    netlist = circuit::build_netlist(made.loom);
    model = make_model(made.loom, netlist, configuration);
    point = solve_operating_point(model);
    return point;
  }
  std::size_t branch(const std::string& name) const {
    for (std::size_t i = 0; i < netlist.elements.size(); ++i)
      if (netlist.elements[i].name == name) return i;
    ADD_FAILURE() << "no element " << name;
    return 0;
  }
  double amperes(const std::string& name) const { return point.amperes(branch(name)); }

  LoomMaker made;
  PartId battery;
  circuit::Netlist netlist;
  Model model;
  OperatingPoint point;
};

ModulePin pin_of(PinRole role) {
  ModulePin pin;
  pin.role = role;
  return pin;
}

TEST(States, RelayClosesWhenItsCoilHasPullInVoltsAndTheChangeOverContactOpens) {
  Bench b;
  const PartId relay = b.relay("K1", b.feed(), b.ground());
  b.made.wire(b.feed(), b.made.at(relay, "30"), 0.001);
  b.between(PartKind::kResistor, "R87", {{"ohm", 24.0}}, b.made.at(relay, "87"), b.ground());
  b.between(PartKind::kResistor, "R87a", {{"ohm", 24.0}}, b.made.at(relay, "87a"), b.ground());
  EXPECT_EQ(b.solve().status, Status::kSettled);
  EXPECT_NEAR(b.amperes("R87"), 1.0, 0.01);
  EXPECT_EQ(b.amperes("R87a"), 0.0);
}

TEST(States, CoilBetweenDropOutAndPullInStaysOutFromPowerUp) {
  Bench b;  // 24 V over 200 + 200 ohm: 12 V at the coil, pull-in 16.08, drop-out 4.8
  const PartId drop = b.made.part(PartKind::kResistor, "R1", {{"ohm", 200.0}});
  b.made.wire(b.feed(), b.made.at(drop, "1"), 0.001);
  b.relay("K1", b.made.at(drop, "2"), b.ground());
  b.solve();
  EXPECT_EQ(b.point.states.on[b.branch("K1 coil")], 0);
  States held = b.point.states;
  held.on[b.branch("K1 coil")] = 1;  // held once, it stays
  EXPECT_EQ(solve_operating_point(b.model, held).states.on[b.branch("K1 coil")], 1);
}

// complaints.md: a state loop that does not settle is a result of its own.
TEST(States, RelayThatBreaksItsOwnCoilBuzzesAndIsReportedUnsettled) {
  Bench b;
  const PartId relay = b.made.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}}, false);
  b.made.wire(b.feed(), b.made.at(relay, "30"), 0.001);
  b.made.wire(b.made.at(relay, "87a"), b.made.at(relay, "85"), 0.001);
  b.made.wire(b.made.at(relay, "86"), b.ground(), 0.001);
  EXPECT_EQ(b.solve().status, Status::kUnsettled);
}

TEST(States, TheMostOverloadedFuseMeltsFirstAndSparesTheOther) {
  Bench b;  // 24 A through 15 A (x1.35 = 20.25) and 5 A (6.75) in a row
  const PartId big = b.made.part(PartKind::kFuse, "F15", {{"rating_a", 15.0}}, false);
  const PartId small = b.made.part(PartKind::kFuse, "F5", {{"rating_a", 5.0}}, false);
  b.made.wire(b.feed(), b.made.at(big, "1"), 0.001);
  b.made.wire(b.made.at(big, "2"), b.made.at(small, "1"), 0.001);
  b.between(PartKind::kResistor, "R1", {{"ohm", 1.0}}, b.made.at(small, "2"), b.ground());
  b.solve();
  EXPECT_EQ(b.point.states.on[b.branch("F5")], 0);
  EXPECT_EQ(b.point.states.on[b.branch("F15")], 1);
  EXPECT_EQ(b.amperes("R1"), 0.0);
}

TEST(States, FuseHoldsAt130PercentAndMeltsAt140) {
  for (const double share : {1.30, 1.40}) {
    Bench b;
    const PartId fuse = b.made.part(PartKind::kFuse, "F", {{"rating_a", 10.0}, {"ohm", 1.0e-5}}, false);
    b.made.wire(b.feed(), b.made.at(fuse, "1"), 0.0);
    b.between(PartKind::kResistor, "R", {{"ohm", 24.0 / (10.0 * share)}}, b.made.at(fuse, "2"), b.ground());
    b.solve();
    EXPECT_EQ(b.point.states.on[b.branch("F")] != 0, share < 1.35) << share;
  }
}

TEST(States, DriverSwitchesItselfOffBeforeTheFuseMelts) {
  Bench b;
  const SetupId lights = b.made.setup("lights on");
  const ModuleId ecu = b.made.module("ECU");
  const PartId fuse = b.made.part(PartKind::kFuse, "F5", {{"rating_a", 5.0}}, false);
  b.made.wire(b.feed(), b.made.at(fuse, "1"), 0.001);
  b.made.wire(b.made.at(fuse, "2"), b.made.at(ecu, b.made.pin(ecu, "1", PinRole::kSupply)), 0.001);
  b.made.wire(b.made.at(ecu, b.made.pin(ecu, "2", PinRole::kGround)), b.ground(), 0.001);
  ModulePin out = pin_of(PinRole::kHighSide);
  out.limit_a = 12.0;  // the fuse is further above its own
  out.on_with = {lights};
  const std::size_t pin = b.made.pin(ecu, "", "3", out);
  b.between(PartKind::kResistor, "R1", {{"ohm", 0.5}}, b.made.at(ecu, pin), b.ground());
  Configuration configuration;
  configuration.made = {lights};
  b.solve(configuration);
  EXPECT_EQ(b.point.status, Status::kSettled);
  EXPECT_EQ(b.point.states.on[b.branch("F5")], 1);
  EXPECT_EQ(b.point.states.tripped[b.netlist.modules[0].pin_element[pin].index()], 1);
  EXPECT_EQ(b.amperes("R1"), 0.0);
}

// Without its ground a module has no supply: nothing may be read between two islands.
TEST(States, ModuleWhoseGroundIsOpenIsDead) {
  Bench b;
  const ModuleId ecu = b.made.module("ECU");
  b.made.wire(b.feed(), b.made.at(ecu, b.made.pin(ecu, "1", PinRole::kSupply)), 0.001);
  const std::size_t ground = b.made.pin(ecu, "2", PinRole::kGround);
  b.solve();
  EXPECT_EQ(b.point.states.alive[0], 0);
  b.made.wire(b.made.at(ecu, ground), b.ground(), 0.001);
  b.solve();
  EXPECT_EQ(b.point.states.alive[0], 1);
}

TEST(States, LowSideDriverOfAModuleWithoutGroundDoesNotBuzz) {
  Bench b;
  const SetupId on = b.made.setup("on");
  const ModuleId ecu = b.made.module("ECU");
  b.made.wire(b.feed(), b.made.at(ecu, b.made.pin(ecu, "1", PinRole::kSupply)), 0.001);
  b.made.pin(ecu, "2", PinRole::kGround);  // drawn, and joined to nothing
  ModulePin out = pin_of(PinRole::kLowSide);
  out.on_with = {on};
  const std::size_t pin = b.made.pin(ecu, "", "3", out);
  b.between(PartKind::kResistor, "R1", {{"ohm", 100.0}}, b.feed(), b.made.at(ecu, pin));
  Configuration configuration;
  configuration.made = {on};
  EXPECT_EQ(b.solve(configuration).status, Status::kSettled);
}

TEST(States, DriverFollowsItsInputAboveOrBelow) {
  for (const bool below : {false, true}) {
    Bench b;
    const ModuleId ecu = b.made.module("ECU");
    b.made.wire(b.feed(), b.made.at(ecu, b.made.pin(ecu, "1", PinRole::kSupply)), 0.001);
    b.made.wire(b.made.at(ecu, b.made.pin(ecu, "2", PinRole::kGround)), b.ground(), 0.001);
    ModulePin input = pin_of(PinRole::kInput);
    input.pull_down_ohm = 10000.0;
    b.made.wire(b.feed(), b.made.at(ecu, b.made.pin(ecu, "", "3", input)), 0.001);
    ModulePin out = pin_of(PinRole::kHighSide);
    out.follows = "3";
    out.follows_below = below;
    const std::size_t pin = b.made.pin(ecu, "", "4", out);
    b.between(PartKind::kResistor, "R1", {{"ohm", 24.0}}, b.made.at(ecu, pin), b.ground());
    b.solve();
    EXPECT_NEAR(b.amperes("R1"), below ? 0.0 : 1.0, 0.01);
  }
}

TEST(States, SensorIsOpenBelowItsSupply) {
  for (const double volts : {3.9, 4.1}) {
    Bench b;
    b.made.loom.parts[b.battery.index()].values[0] = volts;
    const PartId sensor = b.made.part(PartKind::kThreeWireSensor, "B1", {{"at", 5.0}}, false);
    b.made.loom.parts[sensor.index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
    b.made.wire(b.feed(), b.made.at(sensor, "+"), 0.001);
    b.made.wire(b.made.at(sensor, "-"), b.ground(), 0.001);
    b.between(PartKind::kResistor, "R1", {{"ohm", 1.0e5}}, b.made.at(sensor, "S"), b.ground());
    b.solve();
    EXPECT_NEAR(b.amperes("R1") * 1.0e5, volts > 4.0 ? 0.5 * volts : 0.0, 0.01) << volts;
  }
}

// Where it needs no supply it holds its output down without any; the sign of a rounding error must not switch it off.
TEST(States, SensorThatNeedsNoSupplyIsAlwaysOn) {
  for (const double above : {0.0, 4.0}) {
    Bench b;
    const PartId sensor = b.made.part(PartKind::kThreeWireSensor, "B1", {{"at", 5.0}, {"alive_above_v", above}}, false);
    b.made.loom.parts[sensor.index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
    b.made.wire(b.ground(), b.made.at(sensor, "+"), 0.001);
    b.made.wire(b.made.at(sensor, "-"), b.ground(), 0.001);
    b.between(PartKind::kResistor, "R1", {{"ohm", 1.0e4}}, b.feed(), b.made.at(sensor, "S"));
    EXPECT_EQ(b.solve().status, Status::kSettled);
    if (above > 0.0)
      EXPECT_EQ(b.amperes("R1"), 0.0);
    else
      EXPECT_GT(b.amperes("R1"), 1.0e-3);
  }
}

TEST(States, DiodeConductsAboveItsKneeOnly) {
  Bench b;
  const PartId diode = b.made.part(PartKind::kDiode, "D1", {{"forward_v", 0.7}, {"ohm", 0.3}});
  b.made.wire(b.feed(), b.made.at(diode, "A"), 0.0);
  b.between(PartKind::kResistor, "R1", {{"ohm", 10.0}}, b.made.at(diode, "K"), b.ground());
  const PartId wrong = b.made.part(PartKind::kDiode, "D2");
  b.made.wire(b.feed(), b.made.at(wrong, "K"), 0.0);
  b.between(PartKind::kResistor, "R2", {{"ohm", 10.0}}, b.made.at(wrong, "A"), b.ground());
  b.solve();
  EXPECT_NEAR(b.amperes("R1"), (24.0 - 0.7) / (10.3 + 0.015), 0.005);
  EXPECT_EQ(b.amperes("R2"), 0.0);
}

TEST(States, AlternatorFeedsOnlyWhileItsSetupIsMadeAndNeverTakes) {
  Bench b;
  const SetupId runs = b.made.setup("engine runs");
  const PartId alternator = b.made.part(PartKind::kAlternator, "ALT", {{"volt", 28.0}});
  b.made.loom.parts[alternator.index()].runs_with = {runs};
  b.made.wire(b.made.at(alternator, "+"), b.feed(), 0.001);
  b.made.wire(b.made.at(alternator, "-"), b.ground(), 0.001);
  b.between(PartKind::kResistor, "R1", {{"ohm", 24.0}}, b.feed(), b.ground());
  b.solve();
  EXPECT_EQ(b.amperes("ALT"), 0.0);
  Configuration configuration;
  configuration.made = {runs};
  b.solve(configuration);
  EXPECT_GT(b.amperes("ALT"), 10.0);  // it charges the battery
  b.made.loom.parts[b.battery.index()].values[0] = 29.0;
  b.solve(configuration);
  EXPECT_EQ(b.amperes("ALT"), 0.0);
}

// What a hot tangent would make of a filament that has lost its feed: v, -v, v, ... The current bends like a root.
TEST(States, FilamentLeftOnALeakSettlesInAFewRounds) {
  Bench b;
  const PartId lamp = b.made.part(PartKind::kLamp, "L1", {{"watt", 21.0}}, false);
  b.made.wire(b.feed(), b.made.at(lamp, "1"), 1.0e6);
  b.made.wire(b.made.at(lamp, "2"), b.ground(), 0.001);
  b.solve();
  States hot = b.point.states;
  hot.lamp_v[b.branch("L1")] = 24.0;
  const OperatingPoint cooled = solve_operating_point(b.model, hot);
  EXPECT_EQ(cooled.status, Status::kSettled);
  EXPECT_LT(cooled.rounds, 12);
  EXPECT_NEAR(cooled.amperes(b.branch("L1")), 24.0e-6, 1.0e-9);
}

// P / V at rated volts, a twelfth of the hot resistance when cold (circuit::kLampCold; common practice 1/10 to 1/15).
TEST(States, FilamentTakesItsRatedCurrentAtRatedVoltsAndIsColdNearZero) {
  Branch lamp;
  lamp.kind = circuit::ElementKind::kLamp;
  lamp.volt = 24.0;
  lamp.ohm = 24.0 * 24.0 / 21.0;
  EXPECT_NEAR(lamp_current(lamp, 24.0), 0.875, 1.0e-12);
  EXPECT_NEAR(lamp_current(lamp, -24.0), -0.875, 1.0e-12);
  EXPECT_NEAR(1.0e-6 / lamp_current(lamp, 1.0e-6), lamp.ohm / 12.0, 1.0e-3);
  EXPECT_NEAR(lamp_slope(lamp, 7.0), (lamp_current(lamp, 7.0 + 1.0e-5) - lamp_current(lamp, 7.0 - 1.0e-5)) / 2.0e-5,
              1.0e-8);
}

}  // namespace
}  // namespace halfsplit::electrical
