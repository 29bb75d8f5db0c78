// SPDX-License-Identifier: Apache-2.0
// Who answers to movement, to heat and to cold (docs/formats/loom.md, section 9).
#include "predict/provoke.h"

#include <gtest/gtest.h>

#include "circuit/test_loom.h"
#include "evidence/observable_text.h"

namespace halfsplit::predict {
namespace {

using circuit::PartKind;
using circuit::test::LoomMaker;

class Provoke : public ::testing::Test {
 protected:
  Provoke() {
    const auto relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
    const auto ecu = m.module("ECU");
    const std::size_t pin = m.pin(ecu, "A", "1", {});
    const auto plug = m.plug("J1", {"1", "2"});
    m.wire(m.at(plug, 0, "1"), m.at(relay, "30"));
    m.wire(m.at(m.splice("S1")), m.at(ecu, pin));
    m.wire(m.at(plug, 1, "2"), m.at(m.splice("S2")));
    netlist = circuit::build_netlist(m.loom);
    universe = fault::make_universe(m.loom, netlist);
  }
  double chance(const std::string& test, const std::string& fault) const {
    const base::Result<evidence::Observable> what = evidence::parse_observable(m.loom, netlist, test);
    EXPECT_TRUE(what.ok()) << test;
    const fault::FaultId id = universe.find(fault);
    EXPECT_FALSE(id.is_none()) << fault;
    return chance_to_provoke({m.loom, netlist, universe}, *what, {id});
  }
  LoomMaker m;
  circuit::Netlist netlist;
  fault::Universe universe;
};

TEST_F(Provoke, ContactsJointsAndWiresAnswerToMovement) {
  EXPECT_DOUBLE_EQ(chance("wiggle J1", "J1:1 comes and goes"), 0.7);
  EXPECT_DOUBLE_EQ(chance("wiggle w0", "w0 comes and goes"), 0.7);
  EXPECT_DOUBLE_EQ(chance("wiggle w0", "w0 to ground now and then"), 0.7);
  EXPECT_DOUBLE_EQ(chance("wiggle w1", "S1 to w1 comes and goes"), 0.7) << "the crimp of that wire";
  EXPECT_DOUBLE_EQ(chance("wiggle w2", "S1 to w1 comes and goes"), 0.02);
  EXPECT_DOUBLE_EQ(chance("wiggle J1", "J1:1 high"), 0.12);
  EXPECT_DOUBLE_EQ(chance("heat J1", "J1:1 comes and goes"), 0.15);
  EXPECT_DOUBLE_EQ(chance("cool J1", "J1:1 open"), 0.06);
}

TEST_F(Provoke, WhatSitsInsideAnswersToHeatAndCold) {
  for (const char* test : {"heat K1", "cool K1"}) EXPECT_DOUBLE_EQ(chance(test, "K1 comes and goes"), 0.6) << test;
  EXPECT_DOUBLE_EQ(chance("wiggle K1", "K1 comes and goes"), 0.25) << "it moves with its plug";
  EXPECT_DOUBLE_EQ(chance("heat ECU", "ECU comes and goes"), 0.6);
  EXPECT_DOUBLE_EQ(chance("wiggle ECU", "ECU comes and goes"), 0.25);
  EXPECT_DOUBLE_EQ(chance("heat K1", "K1 coil open"), 0.02) << "what is broken for good stays broken";
  EXPECT_DOUBLE_EQ(chance("heat K1", "ECU comes and goes"), 0.02);
}

TEST_F(Provoke, APartIsWarmedWithItsPlug) {
  EXPECT_DOUBLE_EQ(chance("heat K1", "K1:85 comes and goes"), 0.15);
  EXPECT_DOUBLE_EQ(chance("heat ECU", "ECU.A:1 comes and goes"), 0.15);
  EXPECT_DOUBLE_EQ(chance("heat ECU.A", "ECU.A:1 comes and goes"), 0.15);
  EXPECT_DOUBLE_EQ(chance("wiggle K1", "K1:85 comes and goes"), 0.7);
}

TEST_F(Provoke, WithoutAFaultThereItIsChance) {
  const base::Result<evidence::Observable> what = evidence::parse_observable(m.loom, netlist, "heat K1");
  EXPECT_DOUBLE_EQ(chance_to_provoke({m.loom, netlist, universe}, *what, {}), 0.02);
}

}  // namespace
}  // namespace halfsplit::predict
