// SPDX-License-Identifier: Apache-2.0
// Netlist, configuration and changes brought together: which branch conducts, by which law (docs/formats/loom.md, part
// 2).
#include "electrical/model.h"

#include <gtest/gtest.h>

#include <cmath>

#include "circuit/test_loom.h"

namespace halfsplit::electrical {
namespace {

using circuit::Configuration;
using circuit::ElementKind;
using circuit::Fitted;
using circuit::PartId;
using circuit::PartKind;
using circuit::SetupId;
using circuit::test::LoomMaker;
using fault::Change;

std::size_t find(const circuit::Netlist& netlist, const std::string& name, ElementKind kind) {
  for (std::size_t i = 0; i < netlist.elements.size(); ++i)
    if (netlist.elements[i].name == name && netlist.elements[i].kind == kind) return i;
  throw std::runtime_error("no element " + name);
}

Law law(const Model& model, std::size_t branch) { return law_of(model, starting_states(model), branch); }

Change change_of(Change::Kind kind, std::size_t element, double value) {
  Change change;
  change.kind = kind;
  change.element = ElementId(element);
  change.value = value;
  return change;
}

TEST(Model, ASwitchStandsAsDrawnUntilASetupMovesIt) {
  LoomMaker m;
  const SetupId lights = m.setup("lights on");
  const PartId open = m.part(PartKind::kSwitch, "S1");
  const PartId closed = m.part(PartKind::kSwitch, "S2");
  m.loom.parts[closed.index()].normally_closed = true;
  m.loom.setups[0].sets = {{open, true}, {closed, false}};
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  const std::size_t one = find(netlist, "S1", ElementKind::kSwitch);
  const std::size_t two = find(netlist, "S2", ElementKind::kSwitch);
  const Model rest = make_model(m.loom, netlist, {});
  EXPECT_FALSE(law(rest, one).conducts());
  EXPECT_TRUE(law(rest, two).conducts());
  Configuration made;
  made.made = {lights};
  const Model moved = make_model(m.loom, netlist, made);
  EXPECT_TRUE(law(moved, one).conducts());
  EXPECT_FALSE(law(moved, two).conducts());
}

TEST(Model, APlugThatIsApartOpensAllItsContacts) {
  LoomMaker m;
  const auto plug = m.plug("J1", {"1", "2"});
  for (const char* cavity : {"1", "2"}) m.wire(m.at(plug, 0, cavity), m.chassis());
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  Configuration apart;
  apart.unplugged = {plug};
  for (const char* name : {"J1:1", "J1:2"}) {
    const std::size_t contact = find(netlist, name, ElementKind::kContact);
    EXPECT_TRUE(law(make_model(m.loom, netlist, {}), contact).conducts());
    EXPECT_FALSE(law(make_model(m.loom, netlist, apart), contact).conducts());
  }
}

TEST(Model, WhatIsFittedJoinsItsPointsThroughALead) {
  LoomMaker m;
  m.wire(m.at(m.splice("A")), m.at(m.splice("B")));
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  Configuration with;
  Fitted fitted;
  fitted.a = netlist.point_by_name.at("A");
  fitted.b = netlist.point_by_name.at("B");
  with.fitted.insert(fitted);
  fitted.kind = Fitted::Kind::kStandIn;
  fitted.ohm = 150.0;
  with.fitted.insert(fitted);
  const Model model = make_model(m.loom, netlist, with);
  ASSERT_EQ(model.branches.size(), netlist.elements.size() + 2);
  double ohms[2] = {model.branches[netlist.elements.size()].ohm, model.branches[netlist.elements.size() + 1].ohm};
  std::sort(ohms, ohms + 2);
  EXPECT_DOUBLE_EQ(ohms[0], circuit::kLeadOhm);
  EXPECT_DOUBLE_EQ(ohms[1], 150.0 + circuit::kLeadOhm);
}

TEST(Model, ADriverIsCommandedOnlyWithAllItsSetups) {
  LoomMaker m;
  const SetupId key = m.setup("key on"), lights = m.setup("lights on");
  const auto ecu = m.module("ECU");
  circuit::ModulePin out;
  out.role = circuit::PinRole::kHighSide;
  out.on_with = {key, lights};
  const std::size_t both = m.pin(ecu, "", "1", out);
  out.on_with.clear();
  const std::size_t never = m.pin(ecu, "", "2", out);
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  const auto commanded = [&](std::set<SetupId> made, std::size_t pin) {
    Configuration c;
    c.made = std::move(made);
    return make_model(m.loom, netlist, c).branches[netlist.modules[0].pin_element[pin].index()].commanded;
  };
  EXPECT_FALSE(commanded({}, both));
  EXPECT_FALSE(commanded({key}, both));
  EXPECT_TRUE(commanded({key, lights}, both));
  EXPECT_FALSE(commanded({key, lights}, never)) << "no on_with: never on by itself";
}

// Open is I = 0 and short is Va = Vb, both exact.
TEST(Law, OfAnOpenAndAShort) {
  Model model;
  model.nodes = 2;
  model.branches.resize(1);
  model.branches[0].a = NodeId(0);
  model.branches[0].b = NodeId(1);
  model.branches[0].ohm = 0.0;
  EXPECT_EQ(law(model, 0), (Law{1.0, 0.0, -0.0, 0.0}));
  model.branches[0].ohm = 5.0;
  EXPECT_EQ(law(model, 0), (Law{0.2, 0.0, -1.0, 0.0})) << "scaled: no coefficient above one";
  apply_changes(model, {change_of(Change::Kind::kOhm, 0, fault::kOpenOhm)});
  EXPECT_EQ(law(model, 0), (Law{0.0, 0.0, 1.0, 0.0}));
}

TEST(Changes, AnOpenStaysOpenWhateverIsForced) {
  for (const bool open_first : {true, false}) {
    Model model;
    model.nodes = 2;
    model.branches.resize(1);
    model.branches[0].a = NodeId(0);
    model.branches[0].b = NodeId(1);
    std::vector<Change> changes{change_of(Change::Kind::kOhm, 0, fault::kOpenOhm),
                                change_of(Change::Kind::kForce, 0, 1.0)};
    if (!open_first) std::swap(changes[0], changes[1]);
    apply_changes(model, changes);
    EXPECT_FALSE(law(model, 0).conducts());
  }
}

TEST(Changes, AWeldedSwitchConductsThoughItIsOff) {
  LoomMaker m;
  m.part(PartKind::kSwitch, "S1");
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  const std::size_t branch = find(netlist, "S1", ElementKind::kSwitch);
  Model model = make_model(m.loom, netlist, {});
  apply_changes(model, {change_of(Change::Kind::kForce, branch, 1.0)});
  EXPECT_TRUE(law(model, branch).conducts());
}

TEST(Changes, ADeadShortKeepsAMicroOhm) {
  Model model;
  model.nodes = 2;
  Change change;
  change.kind = Change::Kind::kBranch;
  change.a = NodeId(0);
  change.b = NodeId(1);
  apply_changes(model, {change, change});
  ASSERT_EQ(model.branches.size(), 2U);
  EXPECT_GT(model.branches[0].ohm, 0.0) << "so that two of them side by side have a solution";
  EXPECT_LE(model.branches[0].ohm, 1.0e-6);
}

class Remaining : public ::testing::Test {
 protected:
  Remaining() {
    lamp = m.part(PartKind::kLamp, "L1", {{"watt", 21.0}});
    m.wire(m.at(lamp, "2"), m.chassis());
    ecu = m.module("ECU");
    m.pin(ecu, "1", circuit::PinRole::kInput);
    plug = m.plug("J1", {"1", "2"});
    for (const char* cavity : {"1", "2"}) m.wire(m.at(plug, 0, cavity), m.at(m.splice(cavity)));
    netlist = circuit::build_netlist(m.loom);
    universe = fault::make_universe(m.loom, netlist);
  }
  std::size_t left(const std::string& fault, const Configuration& configuration) const {
    const fault::Fault& found = universe.faults.at(universe.find(fault).index());
    return remaining_changes(netlist, configuration, fault::changes_of(netlist, found, 1.0)).size();
  }
  LoomMaker m;
  PartId lamp;
  circuit::ModuleId ecu;
  circuit::ConnectorId plug;
  circuit::Netlist netlist;
  fault::Universe universe;
};

TEST_F(Remaining, AKnownGoodPartTakesAwayWhatWasInsideTheOldOne) {
  Configuration swapped;
  swapped.swapped_parts = {lamp};
  EXPECT_EQ(left("L1 open", {}), 1U);
  EXPECT_EQ(left("L1 open", swapped), 0U);
  EXPECT_EQ(left("L1 shorted", swapped), 0U);
  EXPECT_EQ(left("L1:2 open", swapped), 1U) << "its plug is still the old one";
  EXPECT_EQ(left("w0 open", swapped), 1U);
}

TEST_F(Remaining, AKnownGoodModuleTakesAwayWhatWasInsideTheOldOne) {
  Configuration swapped;
  swapped.swapped_modules = {ecu};
  EXPECT_EQ(left("ECU dead", swapped), 0U);
  EXPECT_EQ(left("ECU:1 input damaged", swapped), 0U);
  EXPECT_EQ(left("ECU:1 open", swapped), 1U);
}

TEST_F(Remaining, SwappedPinsJoinNothingWhileThePlugIsApart) {
  Configuration apart;
  apart.unplugged = {plug};
  EXPECT_EQ(left("J1:1+2 swapped", {}), 4U);
  EXPECT_EQ(left("J1:1+2 swapped", apart), 2U) << "the two opens";
  EXPECT_EQ(left("J1:1+2 touch", apart), 1U) << "on the first side they still touch";
}

}  // namespace
}  // namespace halfsplit::electrical
