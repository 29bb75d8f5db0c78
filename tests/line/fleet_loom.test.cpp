// SPDX-License-Identifier: Apache-2.0
// The whole vehicles that benches and the long comparisons stand on are sound looms of the size asked for.
#include "tests/support/fleet_loom.h"

#include <gtest/gtest.h>

#include <map>

#include "candidates/generate.h"
#include "circuit/oddities.h"
#include "circuit/part_kinds.h"
#include "electrical/operating_point.h"

namespace halfsplit {
namespace {

using test::ExampleLoom;

ExampleLoom load(std::size_t nodes, std::uint64_t seed) {
  base::Result<ExampleLoom> loaded = test::load_fleet_loom(nodes, seed);
  for (const base::Diagnostic& d : loaded.diagnostics()) ADD_FAILURE() << d.code << ": " << d.message;
  return std::move(loaded).value();
}

class FleetLoom : public ::testing::TestWithParam<std::size_t> {};

TEST_P(FleetLoom, HasTheNodesAskedFor) {
  const ExampleLoom e = load(GetParam(), 7);
  EXPECT_GE(e.netlist.node_count(), GetParam());
  EXPECT_LT(e.netlist.node_count(), GetParam() + GetParam() / 100 + 150);
}

TEST_P(FleetLoom, RunsHealthyWithEveryModuleAliveAndNoFuseMelted) {
  const ExampleLoom e = load(GetParam(), 7);
  const electrical::OperatingPoint point =
      electrical::solve_operating_point(electrical::make_model(e.loom, e.netlist, candidates::at_work(e.loom)));
  ASSERT_EQ(point.status, electrical::Status::kSettled);
  for (std::size_t m = 0; m < e.netlist.modules.size(); ++m)
    EXPECT_TRUE(point.states.alive.at(m)) << e.loom.modules[m].name;
  for (std::size_t i = 0; i < e.netlist.elements.size(); ++i) {
    const circuit::Element& element = e.netlist.elements[i];
    if (element.kind == circuit::ElementKind::kFuse) {
      EXPECT_TRUE(point.states.on.at(i)) << element.name;
    }
    EXPECT_FALSE(point.states.tripped.at(i)) << element.name;
  }
}

TEST_P(FleetLoom, HasNothingOddAboutIt) {
  const ExampleLoom e = load(GetParam(), 7);
  for (const base::Diagnostic& d : circuit::find_oddities(e.loom)) {
    // Controllers hang where their plugs lead: longer than the standards advise, as on working vehicles.
    if (d.code == "odd.bus-stub" || d.code == "odd.bus-length") continue;
    if (d.code == "odd.bus-alone") continue;  // the last bus may have one controller
    ADD_FAILURE() << d.code << ": " << d.message;
  }
}

INSTANTIATE_TEST_SUITE_P(Nodes, FleetLoom, ::testing::Values(300, 3000, 30000), ::testing::PrintToStringParamName());

TEST(FleetLoomText, FollowsFromItsSeed) {
  EXPECT_EQ(test::make_fleet_loom(600, 3), test::make_fleet_loom(600, 3));
  EXPECT_NE(test::make_fleet_loom(600, 3), test::make_fleet_loom(600, 4));
}

TEST(FleetLoomText, HoldsEveryPartKindOfAVehicle) {
  const ExampleLoom e = load(600, 7);
  std::map<circuit::PartKind, int> met;
  for (const circuit::Part& part : e.loom.parts) ++met[part.kind];
  EXPECT_EQ(met.size(), circuit::part_kinds().size());
}

// Ten times the vehicle has ten times the faults, not a hundred: nothing in it grows with the square.
TEST(FleetLoomText, GrowsEvenly) {
  const auto small = static_cast<double>(load(900, 7).universe.faults.size());
  const auto large = static_cast<double>(load(9000, 7).universe.faults.size());
  EXPECT_NEAR(large / small, 10.0, 2.0);
}

}  // namespace
}  // namespace halfsplit
