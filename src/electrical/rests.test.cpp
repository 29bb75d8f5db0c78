// SPDX-License-Identifier: Apache-2.0
// Circuits that can rest in several ways, or in none, as vehicles have them.
#include "electrical/rests.h"

#include <gtest/gtest.h>

#include "electrical/both_paths.h"

namespace halfsplit::electrical {
namespace {

using circuit::EndPoint;
using circuit::ModuleId;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::test::LoomMaker;

struct Drawing : test::FedLoom {
  EndPoint ground() const { return made.chassis(); }
};

struct Solved {
  explicit Solved(const circuit::Loom& loom)
      : netlist(circuit::build_netlist(loom)),
        model(make_model(loom, netlist, {})),
        first(solve_operating_point(model)) {}
  std::vector<std::string> names(const Moving& moving) const {
    std::vector<std::string> names;
    for (const std::size_t i : moving.branches) names.push_back(netlist.elements[i].name);
    for (const circuit::ModuleId m : moving.modules) names.push_back("module " + std::to_string(m.value));
    return names;
  }
  circuit::Netlist netlist;
  Model model;
  OperatingPoint first;
};

using Names = std::vector<std::string>;

TEST(Rests, ARelayHeldByItsOwnContact) {
  Drawing d;
  const PartId button = d.made.part(PartKind::kSwitch, "S1", {}, false);
  const PartId relay = d.relay("K1");
  const EndPoint coil = d.made.at(d.made.splice("COIL"));
  d.join(d.feed, d.at(button, "1"));
  d.join(d.at(button, "2"), coil);
  d.join(coil, d.at(relay, "85"));
  d.join(d.at(relay, "86"), d.ground());
  d.join(d.feed, d.at(relay, "30"));
  d.join(d.at(relay, "87"), coil);
  const Solved s(d.made.loom);
  ASSERT_EQ(s.first.status, Status::kSettled);
  const auto others = find_other_rests(s.model, s.first);
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(s.names(find_differences(s.model, s.first.states, others[0].states)), Names{"K1 coil"});
  const auto node = s.netlist.points[s.netlist.point_by_name.at("COIL").index()].node;
  EXPECT_NEAR(s.first.volts(node) - s.first.volts(s.netlist.reference), 0.0, 1e-9);
  EXPECT_NEAR(others[0].volts(node) - others[0].volts(s.netlist.reference), 25.2, 0.1);
}

TEST(Rests, AModuleKeptAwakeByItsOwnDriver) {
  Drawing d;
  const PartId relay = d.relay("K1");
  const PartId key = d.made.part(PartKind::kSwitch, "S1", {}, false);
  const ModuleId ecu = d.made.module("ECU");
  const auto always = d.made.setup("always");
  ModulePin supply, hold;
  supply.role = PinRole::kSupply;
  supply.draw_a = 0.5;
  hold.role = PinRole::kLowSide;
  hold.on_with = {always};
  d.join(d.feed, d.at(key, "1"));
  d.join(d.feed, d.at(relay, "30"));
  d.join(d.feed, d.at(relay, "85"));
  const EndPoint fed = d.made.at(d.made.splice("FED"));
  d.join(d.at(key, "2"), fed);
  d.join(d.at(relay, "87"), fed);
  d.join(fed, d.made.at(ecu, d.made.pin(ecu, "", "1", supply)));
  d.join(d.at(relay, "86"), d.made.at(ecu, d.made.pin(ecu, "", "2", hold)));
  d.join(d.made.at(ecu, d.made.pin(ecu, "3", PinRole::kGround)), d.ground());
  const circuit::Netlist netlist = circuit::build_netlist(d.made.loom);
  circuit::Configuration awake;
  awake.made = {always};
  const Model model = make_model(d.made.loom, netlist, awake);
  const OperatingPoint first = solve_operating_point(model);
  const auto others = find_other_rests(model, first);
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(first.states.alive[0], 0);
  EXPECT_EQ(others[0].states.alive[0], 1);
  const Moving moving = find_differences(model, first.states, others[0].states);
  EXPECT_EQ(moving.modules, std::vector<ModuleId>{ecu});
  EXPECT_EQ(moving.branches.size(), 2U) << "the coil and the driver";
}

// A driver that follows an input which its own pin feeds.
TEST(Rests, ADriverThatFollowsItself) {
  Drawing d;
  const PartId button = d.made.part(PartKind::kSwitch, "S1", {}, false);
  const ModuleId ecu = d.made.module("ECU");
  ModulePin supply, in, out;
  supply.role = PinRole::kSupply;
  in.role = PinRole::kInput;
  in.pull_down_ohm = 10000.0;
  out.role = PinRole::kHighSide;
  out.follows = "3";
  const EndPoint node = d.made.at(d.made.splice("NODE"));
  d.join(d.feed, d.made.at(ecu, d.made.pin(ecu, "", "1", supply)));
  d.join(d.made.at(ecu, d.made.pin(ecu, "2", PinRole::kGround)), d.ground());
  d.join(node, d.made.at(ecu, d.made.pin(ecu, "", "3", in)));
  const std::size_t pin = d.made.pin(ecu, "", "4", out);
  d.join(d.feed, d.at(button, "1"));
  d.join(d.at(button, "2"), node);
  {
    const Solved apart(d.made.loom);
    EXPECT_TRUE(find_other_rests(apart.model, apart.first).empty()) << "its pin leads nowhere";
  }
  d.join(d.made.at(ecu, pin), node);
  const Solved s(d.made.loom);
  const auto others = find_other_rests(s.model, s.first);
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(find_differences(s.model, s.first.states, others[0].states).branches.size(), 1U);
  EXPECT_NEAR(others[0].volts(s.netlist.points[s.netlist.point_by_name.at("NODE").index()].node) -
                  others[0].volts(s.netlist.reference),
              25.2, 0.1);
}

// Each one's rest contact feeds the other's coil: whoever comes first keeps the other out. From power-up both pull in,
// both let go: it has no rest of its own, and names both.
TEST(Rests, TwoRelaysThatLockEachOtherOutBuzzFromPowerUp) {
  Drawing d;
  const PartId one = d.relay("K1"), two = d.relay("K2");
  for (const auto& [a, b] : {std::pair{one, two}, std::pair{two, one}}) {
    d.join(d.feed, d.at(a, "30"));
    d.join(d.at(a, "87a"), d.at(b, "85"));
    d.join(d.at(b, "86"), d.ground());
  }
  const Solved s(d.made.loom);
  EXPECT_EQ(s.first.status, Status::kUnsettled);
  EXPECT_EQ(s.names(find_buzzing(s.model, s.first)), (Names{"K1 coil", "K2 coil"}));
  EXPECT_TRUE(find_other_rests(s.model, s.first).empty());
}

// A bell: the coil hangs on its own rest contact.
TEST(Rests, ABuzzerNamesItsRelay) {
  Drawing d;
  const PartId relay = d.relay("K1");
  const PartId bystander = d.relay("K2");
  d.join(d.feed, d.at(relay, "30"));
  d.join(d.at(relay, "87a"), d.at(relay, "85"));
  d.join(d.at(relay, "86"), d.ground());
  d.join(d.feed, d.at(bystander, "85"));
  d.join(d.at(bystander, "86"), d.ground());
  const Solved s(d.made.loom);
  EXPECT_EQ(s.first.status, Status::kUnsettled);
  EXPECT_EQ(s.names(find_buzzing(s.model, s.first)), Names{"K1 coil"});
}

TEST(Rests, AnOrdinaryRelayHasOneRest) {
  Drawing d;
  const PartId relay = d.relay("K1");
  const PartId lamp = d.made.part(PartKind::kLamp, "L1", {{"watt", 21.0}}, false);
  d.join(d.feed, d.at(relay, "85"));
  d.join(d.at(relay, "86"), d.ground());
  d.join(d.feed, d.at(relay, "30"));
  d.join(d.at(relay, "87"), d.at(lamp, "1"));
  d.join(d.at(lamp, "2"), d.ground());
  const Solved s(d.made.loom);
  EXPECT_TRUE(find_other_rests(s.model, s.first).empty());
  EXPECT_TRUE(find_buzzing(s.model, s.first).empty());
}

// A coil between its drop-out and its pull-in volts stays as it was: two rests without any contact of its own.
TEST(Rests, ACoilWithTooFewVoltsToPullInAndEnoughToHold) {
  Drawing d;
  const PartId relay = d.relay("K1");
  const PartId resistor = d.made.part(PartKind::kResistor, "R1", {{"ohm", 200.0}}, false);
  d.join(d.feed, d.at(resistor, "1"));
  d.join(d.at(resistor, "2"), d.at(relay, "85"));
  d.join(d.at(relay, "86"), d.ground());
  const Solved s(d.made.loom);
  const auto others = find_other_rests(s.model, s.first);
  ASSERT_EQ(others.size(), 1U);
  EXPECT_EQ(s.names(find_differences(s.model, s.first.states, others[0].states)), Names{"K1 coil"});
}

// What would have to melt a fuse first is no other rest of the same circuit.
TEST(Rests, WhatMeltsAFuseOnTheWayIsHistory) {
  Drawing d;
  const PartId fuse = d.made.part(PartKind::kFuse, "F1", {{"rating_a", 1.0}}, false);
  const PartId relay = d.relay("K1");
  const PartId load = d.made.part(PartKind::kResistor, "R1", {{"ohm", 1.0}}, false);
  const EndPoint coil = d.made.at(d.made.splice("COIL"));
  d.join(d.feed, d.at(fuse, "1"));
  d.join(d.at(fuse, "2"), d.at(relay, "30"));
  d.join(d.at(relay, "87"), coil);
  d.join(coil, d.at(relay, "85"));
  d.join(d.at(relay, "86"), d.ground());
  d.join(coil, d.at(load, "1"));
  d.join(d.at(load, "2"), d.ground());
  const Solved s(d.made.loom);
  EXPECT_TRUE(find_other_rests(s.model, s.first).empty()) << "held, it draws 25 A through a fuse of 1 A";
}

}  // namespace
}  // namespace halfsplit::electrical
