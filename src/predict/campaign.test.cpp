// SPDX-License-Identifier: Apache-2.0
// What is kept of benches, and moments of a fault that comes and goes.
#include "predict/campaign.h"

#include <gtest/gtest.h>

#include "circuit/test_loom.h"
#include "evidence/observable_text.h"

namespace halfsplit::predict {
namespace {

using circuit::EndPoint;
using circuit::PartId;
using circuit::PartKind;
using circuit::test::LoomMaker;

// A row of plugs between a battery and a heater: as many states of the vehicle as one likes.
struct Row {
  explicit Row(std::size_t plugs) {
    const PartId battery = m.part(PartKind::kBattery, "BATT");
    const PartId heater = m.part(PartKind::kHeater, "E1", {{"ohm", 10.0}}, false);
    m.wire(m.at(battery, "-"), m.chassis());
    EndPoint end = m.at(battery, "+");
    for (std::size_t i = 0; i < plugs; ++i) {
      const auto plug = m.plug("J" + std::to_string(i), {"1"});
      m.wire(end, m.at(plug, 0, "1"));
      end = m.at(plug, 1, "1");
    }
    m.wire(end, m.at(heater, "1"));
    m.wire(m.at(heater, "2"), m.chassis());
    netlist = circuit::build_netlist(m.loom);
    universe = fault::make_universe(m.loom, netlist);
  }
  [[nodiscard]] evidence::Observable what(std::size_t apart) const {
    evidence::Observable what = *evidence::parse_observable(m.loom, netlist, "volts E1:1 chassis");
    for (std::size_t i = 0; i < 8; ++i)
      if ((apart >> i & 1U) != 0) what.configuration.unplugged.insert(circuit::ConnectorId(first + i));
    return what;
  }
  LoomMaker m;
  circuit::Netlist netlist;
  fault::Universe universe;
  std::size_t first = 1;  // the battery's own plug comes before
};

TEST(Campaign, KeepsNoMoreBenchesThanMemoryAllowsAndAnswersAlike) {
  Row row(8);
  row.first = row.m.loom.connectors.size() - 8;
  Campaign campaign(row.m.loom, row.netlist, row.universe);
  const std::size_t most = campaign.most_benches();
  ASSERT_GE(most, 4U);
  ASSERT_LT(most, 256U);
  for (const int turn : {0, 1})
    for (std::size_t apart = 0; apart < 256; ++apart) {
      const evidence::Prediction p = campaign.predict_one({}, row.what(apart));
      ASSERT_EQ(p.components.size(), 1U);
      EXPECT_NEAR(p.components.front().mean, apart == 0 ? 24.24 : 0.0, 0.3) << turn << " " << apart;
      EXPECT_LE(campaign.kept_benches(), most);
    }
  EXPECT_EQ(campaign.kept_benches(), most);
  EXPECT_GE(campaign.counts().factors, 2 * 256U) << "those that are gone count";
}

// A relay on its own rest contact buzzes; with its feed broken it rests. A feed that comes and goes does both by turns.
TEST(Campaign, AMomentWithoutRestLeavesItsHalfUnsaid) {
  LoomMaker m;
  const PartId battery = m.part(PartKind::kBattery, "BATT");
  const PartId relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}}, false);
  const EndPoint feed = m.at(m.splice("FEED"));
  m.wire(m.at(battery, "-"), m.chassis());
  m.wire(m.at(battery, "+"), feed);
  const auto broken = m.wire(feed, m.at(relay, "30"));
  m.wire(m.at(relay, "87a"), m.at(relay, "85"));
  m.wire(m.at(relay, "86"), m.chassis());
  const circuit::Netlist netlist = circuit::build_netlist(m.loom);
  const fault::Universe universe = fault::make_universe(m.loom, netlist);
  Campaign campaign(m.loom, netlist, universe);
  const evidence::Observable what = *evidence::parse_observable(m.loom, netlist, "volts FEED chassis");
  const std::string wire = m.loom.wires[broken.index()].name;
  EXPECT_FALSE(campaign.predict_one({}, what).settled);
  const evidence::Prediction half = campaign.predict_one({{{universe.find(wire + " comes and goes"), 0.5}}}, what);
  EXPECT_TRUE(half.settled);
  ASSERT_EQ(half.components.size(), 1U);
  EXPECT_DOUBLE_EQ(half.components.front().weight, kIntermittentPresent);
  EXPECT_NEAR(half.components.front().mean, 25.2, 0.1);
  EXPECT_TRUE(campaign.predict_one({{{universe.find(wire + " open"), 0.5}}}, what).settled);
}

}  // namespace
}  // namespace halfsplit::predict
