// SPDX-License-Identifier: Apache-2.0
// What shows where metal is looked at (docs/formats/loom.md, section 9).
#include "predict/inspect.h"

#include <gtest/gtest.h>

#include "circuit/test_loom.h"
#include "evidence/observable_text.h"

namespace halfsplit::predict {
namespace {

using circuit::test::LoomMaker;

class Inspect : public ::testing::Test {
 protected:
  Inspect() {
    const auto plug = m.plug("J1", {"1", "2", "3"});
    const auto stud = m.stud("G1");
    m.wire(m.at(plug, 0, "1"), m.at(m.splice("S1")));
    m.wire(m.at(plug, 1, "1"), m.at(stud));
    m.wire(m.at(plug, 1, "2"), m.at(m.splice("S2")));
    m.wire(m.at(plug, 1, "3"), m.at(m.splice("S3")));
    for (const std::size_t wire : {2U, 3U}) m.loom.wires[wire].bundle = "rail";
    netlist = circuit::build_netlist(m.loom);
    universe = fault::make_universe(m.loom, netlist);
  }
  double marked(const std::string& point, const std::vector<std::string>& names) const {
    const base::Result<evidence::Observable> what = evidence::parse_observable(m.loom, netlist, "inspect " + point);
    EXPECT_TRUE(what.ok()) << point;
    std::vector<fault::FaultId> faults;
    for (const std::string& name : names) {
      faults.push_back(universe.find(name));
      EXPECT_FALSE(faults.back().is_none()) << name;
    }
    return chance_to_be_marked({m.loom, netlist, universe}, *what, faults);
  }
  LoomMaker m;
  circuit::Netlist netlist;
  fault::Universe universe;
};

TEST_F(Inspect, AContactShowsFromBothItsSidesAndNoOther) {
  const std::string first = "J1:1@" + m.loom.connectors.front().sides[0];
  const std::string second = "J1:1@" + m.loom.connectors.front().sides[1];
  for (const std::string& side : {first, second}) {
    EXPECT_DOUBLE_EQ(marked(side, {"J1:1 high"}), 0.6) << side;
    EXPECT_DOUBLE_EQ(marked(side, {"J1:1 open"}), 0.5) << side;
    EXPECT_DOUBLE_EQ(marked(side, {"J1:1 comes and goes"}), 0.35) << side;
    EXPECT_DOUBLE_EQ(marked(side, {"J1:2 high"}), 0.06) << side;
  }
}

TEST_F(Inspect, WaterAndABentPinShowAtBothCavities) {
  const std::string side = "@" + m.loom.connectors.front().sides[1];
  for (const char* cavity : {"J1:1", "J1:2"}) {
    EXPECT_DOUBLE_EQ(marked(cavity + side, {"J1:1+2 water"}), 0.7) << cavity;
    EXPECT_DOUBLE_EQ(marked(cavity + side, {"J1:1+2 touch"}), 0.4) << cavity;
  }
  EXPECT_DOUBLE_EQ(marked("J1:3" + side, {"J1:1+2 water"}), 0.06);
}

TEST_F(Inspect, AStudShowsWhatItsLugsHaveAndAWireShowsNothing) {
  EXPECT_DOUBLE_EQ(marked("G1", {"G1 high"}), 0.6);
  EXPECT_DOUBLE_EQ(marked("G1", {"G1 to w1 open"}), 0.5) << "the lug of the wire on it";
  EXPECT_DOUBLE_EQ(marked("S1", {"S1 to w0 high"}), 0.6);
  EXPECT_DOUBLE_EQ(marked("S1", {"w0 open"}), 0.06) << "a wire breaks out of sight";
  EXPECT_DOUBLE_EQ(marked("S2", {"S2 water"}), 0.7);
}

TEST_F(Inspect, WaterInASpliceShowsThereAndNotOnTheMetalItLeaksTo) {
  EXPECT_DOUBLE_EQ(marked("S2", {"S2 water"}), 0.7);
  EXPECT_DOUBLE_EQ(marked("chassis", {"S2 water"}), 0.06);
  EXPECT_DOUBLE_EQ(marked("S3", {"S2 water"}), 0.06);
}

TEST_F(Inspect, AWireShowsWhereItChafesAndHardlyWhereItBreaks) {
  EXPECT_DOUBLE_EQ(marked("w2", {"w2 to ground"}), 0.6);
  EXPECT_DOUBLE_EQ(marked("w2", {"w2 to ground now and then"}), 0.6);
  EXPECT_DOUBLE_EQ(marked("w2", {"w2 open"}), 0.35);
  EXPECT_DOUBLE_EQ(marked("w2", {"w2 high"}), 0.25);
  EXPECT_DOUBLE_EQ(marked("w2", {"w2 comes and goes"}), 0.25);
  EXPECT_DOUBLE_EQ(marked("w2", {"w3 to ground", "S2 to w2 high"}), 0.08) << "another wire, and a lug on its end";
  EXPECT_DOUBLE_EQ(marked("S2", {"w2 to ground"}), 0.06) << "a splice does not show what the wire has";
}

TEST_F(Inspect, WiresThatTouchShowOnBoth) {
  for (const char* wire : {"w2", "w3"}) EXPECT_DOUBLE_EQ(marked(wire, {"w2+w3 touch"}), 0.5) << wire;
  EXPECT_DOUBLE_EQ(marked("w1", {"w2+w3 touch"}), 0.08);
}

TEST_F(Inspect, OfSeveralFaultsTheOneThatShowsMost) {
  EXPECT_DOUBLE_EQ(marked("G1", {"G1 to w1 open", "G1 high"}), 0.6);
  EXPECT_DOUBLE_EQ(marked("G1", {}), 0.06);
}

}  // namespace
}  // namespace halfsplit::predict
