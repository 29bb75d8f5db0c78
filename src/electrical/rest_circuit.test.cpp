// SPDX-License-Identifier: Apache-2.0
// What the circuit at rest keeps may be dropped at any time: asked again, it answers the same. And what it keeps of a
// change grows with the way to the root of the elimination, not with the vehicle.
#include "electrical/rest_circuit.h"

#include <gtest/gtest.h>

#include "electrical/both_paths.h"

namespace halfsplit::electrical {
namespace {

TEST(RestCircuit, AnswersTheSameAfterForgetting) {
  test::FedLoom loom;
  const circuit::PartId load = loom.made.part(circuit::PartKind::kResistor, "R1", {{"ohm", 50.0}}, false);
  loom.join(loom.feed, loom.at(load, "1"));
  loom.join(loom.at(load, "2"), loom.made.chassis());
  const circuit::Netlist netlist = circuit::build_netlist(loom.made.loom);
  const Model model = make_model(loom.made.loom, netlist, {});
  RestCircuit rest(model);
  rest.prepare(model, find_stateful(model));
  const auto transfer = [&](std::size_t branch, NodeId node) {
    return static_cast<double>(sparse::dot(rest.row(branch).left, rest.volts(node)));
  };
  std::vector<double> before;
  for (std::size_t branch = 0; branch < model.branches.size(); ++branch)
    for (std::size_t n = 0; n < model.nodes; ++n) before.push_back(transfer(branch, NodeId(n)));
  const std::size_t kept = rest.kept_entries();
  EXPECT_GT(kept, model.branches.size());
  rest.forget();
  EXPECT_EQ(rest.kept_entries(), 0U);
  std::size_t at = 0;
  for (std::size_t branch = 0; branch < model.branches.size(); ++branch)
    for (std::size_t n = 0; n < model.nodes; ++n) EXPECT_EQ(transfer(branch, NodeId(n)), before[at++]);
  EXPECT_EQ(rest.kept_entries(), kept);
}

// Loads, each with two ground wires: as many rings of milliohms.
TEST(RestCircuit, KeepsRingsOfWiresOutOfEachOthersHalves) {
  constexpr int kLoads = 80;
  test::FedLoom loom;
  for (int i = 0; i < kLoads; ++i) {
    const std::string name = "R" + std::to_string(i);
    const circuit::PartId load = loom.made.part(circuit::PartKind::kResistor, name, {{"ohm", 50.0}}, false);
    loom.join(loom.feed, loom.at(load, "1"));
    const circuit::EndPoint ground = loom.made.at(loom.made.splice("G" + std::to_string(i)));
    loom.join(loom.at(load, "2"), ground);
    loom.join(ground, loom.made.chassis());
    loom.join(ground, loom.made.chassis());
  }
  const circuit::Netlist netlist = circuit::build_netlist(loom.made.loom);
  const Model model = make_model(loom.made.loom, netlist, {});
  RestCircuit rest(model);
  rest.prepare(model, find_stateful(model));
  std::size_t longest = 0;
  for (std::size_t n = 0; n < model.nodes; ++n) longest = std::max(longest, rest.volts(NodeId(n)).size());
  EXPECT_LT(longest, std::size_t{kLoads} / 2);
}

}  // namespace
}  // namespace halfsplit::electrical
