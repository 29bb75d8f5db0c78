// SPDX-License-Identifier: Apache-2.0
// Names of points, canonical and as a person types them (docs/formats/loom.md, "Points").
#include <gtest/gtest.h>

#include "circuit/test_loom.h"

namespace halfsplit::circuit {
namespace {

using test::LoomMaker;

class Points : public ::testing::Test {
 protected:
  Points() {
    const ConnectorId plug = m.plug("J4", {"12"}, "cab", "engine");
    const ModuleId ecu = m.module("BCM");
    ModulePin input;
    input.role = PinRole::kInput;
    const std::size_t pin = m.pin(ecu, "A", "14", input);
    const PartId sensor = m.part(PartKind::kNtc, "B7", {{"r25_ohm", 2000.0}, {"b_k", 3500.0}, {"at", 20.0}});
    const PartId diode = m.part(PartKind::kDiode, "D1");
    m.wire(m.at(ecu, pin), m.at(plug, 0, "12"));
    m.wire(m.at(plug, 1, "12"), m.at(sensor, "1"));
    m.wire(m.at(sensor, "2"), m.at(m.stud("G1")));
    m.wire(m.at(m.splice("S5")), m.at(diode, "A"));
    netlist = build_netlist(m.loom);
  }
  std::string found(const std::string& typed) const {
    const auto id = find_point(netlist, typed);
    return id ? netlist.points[id->index()].name : "none";
  }
  LoomMaker m;
  Netlist netlist;
};

TEST_F(Points, AreFoundByTheirCanonicalNames) {
  for (const char* name :
       {"J4:12@cab", "J4:12@engine", "BCM.A:14", "BCM.A:14@unit", "B7:1", "B7:1@unit", "D1:A", "S5", "G1", "chassis"})
    EXPECT_EQ(found(name), name);
}

TEST_F(Points, WithoutASideMeanTheLoomSideOfAUnitAndTheFirstSideOfAPlug) {
  EXPECT_EQ(found("BCM.A:14@loom"), "BCM.A:14");
  EXPECT_EQ(found("J4:12"), "J4:12@cab");
}

TEST_F(Points, ThatDoNotExistAreNone) {
  for (const char* name : {"J4:13", "J4:12@cabin", "J4", "BCM:14", "B7:3", "", "@", "J4:1"})
    EXPECT_EQ(found(name), "none") << name;
}

TEST_F(Points, OfWireEndsAreNamedAsOnTheDrawing) {
  EXPECT_EQ(end_point_name(m.loom, m.loom.wires[0].from), "BCM.A:14");
  EXPECT_EQ(end_point_name(m.loom, m.loom.wires[0].to), "J4:12@cab");
  EXPECT_EQ(end_point_name(m.loom, m.loom.wires[2].to), "G1");
  EXPECT_EQ(end_point_name(m.loom, m.loom.wires[3].from), "S5");
  EXPECT_EQ(end_point_name(m.loom, m.loom.wires[3].to), "D1:A");
  EXPECT_EQ(end_point_name(m.loom, m.chassis()), "chassis");
}

TEST_F(Points, BehindABuriedSpliceOrAPlugThatCannotBeProbed) {
  m.loom.splices[0].probe = false;
  m.loom.connectors[0].backprobe = false;
  const Netlist shut = build_netlist(m.loom);
  const auto point = [&](const char* name) { return shut.points[shut.point_by_name.at(name).index()]; };
  EXPECT_FALSE(point("S5").probe);
  EXPECT_TRUE(point("J4:12@cab").needs_unplugged);
  EXPECT_TRUE(point("J4:12@cab").probe);
  m.loom.connectors[0].pluggable = false;
  const Netlist sealed = build_netlist(m.loom);
  EXPECT_FALSE(sealed.points[sealed.point_by_name.at("J4:12@cab").index()].probe);
}

}  // namespace
}  // namespace halfsplit::circuit
