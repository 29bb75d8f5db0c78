// SPDX-License-Identifier: Apache-2.0
#include "circuit/metal_ways.h"

#include <gtest/gtest.h>

#include <string>

#include "circuit/test_loom.h"

namespace halfsplit::circuit {
namespace {

// Two plugs on one run, a splice between them with a branch; a resistor at the far end.
class Ways : public ::testing::Test {
 protected:
  Ways() {
    near_ = m_.plug("J1", {"1"});
    far_ = m_.plug("J2", {"1"});
    const SpliceId splice = m_.splice("X1");
    const PartId load = m_.part(PartKind::kResistor, "R1", {{"ohm", 50.0}}, false);
    const PartId other = m_.part(PartKind::kResistor, "R2", {{"ohm", 50.0}}, false);
    m_.wire(m_.at(near_, 1, "1"), m_.at(splice));
    m_.wire(m_.at(splice), m_.at(far_, 0, "1"));
    m_.wire(m_.at(far_, 1, "1"), m_.at(load, "1"));
    m_.wire(m_.at(splice), m_.at(other, "1"));
    m_.wire(m_.at(load, "2"), m_.at(other, "2"));
    netlist_ = build_netlist(m_.loom);
  }
  NodeId node(const std::string& point) const { return netlist_.points[netlist_.point_by_name.at(point).index()].node; }
  LoomMaker m_;
  ConnectorId near_, far_;
  Netlist netlist_;
};

TEST_F(Ways, HoldWhatLiesBetween) {
  const MetalWays ways(netlist_);
  const auto way = ways.between(node("J1:1@a"), node("J2:1@b"));
  ASSERT_TRUE(way.has_value());
  std::size_t wires = 0, contacts = 0;
  for (const ElementId id : *way) {
    const Element& e = netlist_.elements[id.index()];
    EXPECT_TRUE(is_metal(e.kind));
    wires += e.kind == ElementKind::kWire ? 1U : 0U;
    contacts += e.kind == ElementKind::kContact ? 1U : 0U;
  }
  EXPECT_EQ(wires, 2U) << "not the branch, not what lies beyond";
  EXPECT_EQ(contacts, 2U);
  EXPECT_TRUE(ways.between(node("X1"), node("X1"))->empty());
}

TEST_F(Ways, EndAtAPlugThatIsApartAndAtWhatIsNoMetal) {
  const MetalWays ways(netlist_);
  EXPECT_TRUE(ways.between(node("J1:1@b"), node("J2:1@a"), {near_, far_}).has_value());
  EXPECT_FALSE(ways.between(node("J1:1@a"), node("J2:1@a"), {near_, far_}).has_value());
  EXPECT_FALSE(ways.between(node("J1:1@b"), node("J2:1@b"), {near_, far_}).has_value());
  EXPECT_FALSE(ways.between(node("R1:1"), node("R1:2"), {}).has_value()) << "through the load leads no metal";
}

}  // namespace
}  // namespace halfsplit::circuit
