// SPDX-License-Identifier: Apache-2.0
// Spreads of readings against the formula of a divider worked by hand: V = E*R2/(R1+R2), so that
// dV/V = dE/E + R1/(R1+R2)*(dR2/R2 - dR1/R1).
#include <gtest/gtest.h>

#include <cmath>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"

namespace halfsplit::electrical {
namespace {

using circuit::PartId;
using circuit::PartKind;

// Half-widths: battery 2 %, resistor 5 %, coil 10 %; joints and wires next to nothing.
struct Divider {
  explicit Divider(double upper_ohm) {
    made.make_joints(1.0e-9);
    const PartId battery = made.part(PartKind::kBattery, "BATT", {{"volt", 24.0}, {"ohm", 1.0e-9}});
    const PartId upper = made.part(PartKind::kResistor, "R1", {{"ohm", upper_ohm}});
    const PartId coil = made.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}}, false);
    made.wire(made.at(battery, "-"), made.chassis(), 1.0e-9);
    made.wire(made.at(battery, "+"), made.at(upper, "1"), 1.0e-9);
    made.wire(made.at(upper, "2"), made.at(coil, "85"), 1.0e-9);
    made.wire(made.at(coil, "86"), made.chassis(), 1.0e-9);
    netlist = circuit::build_netlist(made.loom);
    for (const circuit::Element& e : netlist.elements) tolerance.push_back(e.tolerance);
    probe.red = netlist.points[circuit::find_point(netlist, "K1:85")->index()].node;
    probe.black = netlist.points[circuit::find_point(netlist, "K1:86")->index()].node;
    const double share = upper_ohm / (upper_ohm + 200.0);
    volts = 24.0 * (1.0 - share);
    sigma = volts * std::sqrt(0.02 * 0.02 + share * share * (0.05 * 0.05 + 0.10 * 0.10)) / 3.0;
  }
  circuit::test::LoomMaker made;
  circuit::Netlist netlist;
  std::vector<double> tolerance;
  Probe probe;
  double volts = 0.0, sigma = 0.0;
};

TEST(FaultBenchSpread, OfADividerAsByHand) {
  const Divider d(20.0);
  FaultBench bench(make_model(d.made.loom, d.netlist, {}), 24.0);
  const Predicted read = bench.read(d.probe, d.tolerance);
  EXPECT_NEAR(read.measured.value, d.volts, 0.001);
  EXPECT_NEAR(read.sigma / d.sigma, 1.0, 0.001);
}

// A coil that could rest either way comes from off again, or, where the circuit stood otherwise before, is factorised
// anew; the spread must not get lost on either road.
TEST(FaultBenchSpread, IsThereWhereACoilCouldRestEitherWay) {
  const Divider drawn(200.0), d(201.0);
  for (const bool stood : {false, true}) {
    Model model = make_model(drawn.made.loom, drawn.netlist, {});
    if (stood) model.stood = starting_states(model);
    FaultBench bench(model, 24.0);
    fault::Change change;
    for (std::size_t i = 0; i < d.netlist.elements.size(); ++i)
      if (d.netlist.elements[i].kind == circuit::ElementKind::kResistor) change.element = circuit::ElementId(i);
    change.value = 201.0;
    bench.put_fault({change});
    const Predicted read = bench.read(d.probe, d.tolerance);
    EXPECT_EQ(bench.counts().refactored > 0, stood);
    EXPECT_NEAR(read.measured.value, d.volts, 0.001);
    EXPECT_NEAR(read.sigma / d.sigma, 1.0, 0.001);
  }
}

TEST(FaultBenchSpread, FollowsTheFaultThatIsIn) {
  const Divider d(20.0);
  const Divider other(50.0);
  FaultBench bench(make_model(d.made.loom, d.netlist, {}), 24.0);
  fault::Change change;
  for (std::size_t i = 0; i < d.netlist.elements.size(); ++i)
    if (d.netlist.elements[i].name == "R1") change.element = ElementId(i);
  change.value = 50.0;
  bench.put_fault({change});
  const Predicted read = bench.read(d.probe, d.tolerance);
  EXPECT_NEAR(read.measured.value, other.volts, 0.001);
  EXPECT_NEAR(read.sigma / other.sigma, 1.0, 0.001);
}

// A resistor of 5 % behind a fuse that melts at 13.5 A, on a battery of 2 %: I = E/R, so that dI/I = dE/E - dR/R.
TEST(FaultBenchSpread, WhatMeltsIsToldWithItsMargin) {
  circuit::test::LoomMaker made;
  made.make_joints(1.0e-9);
  const PartId battery = made.part(PartKind::kBattery, "BATT", {{"volt", 24.0}, {"ohm", 1.0e-9}});
  const PartId fuse = made.part(PartKind::kFuse, "F1", {{"rating_a", 10.0}}, false);
  const PartId load = made.part(PartKind::kResistor, "R1", {{"ohm", 240.0}}, false);
  made.wire(made.at(battery, "-"), made.chassis(), 1.0e-9);
  made.wire(made.at(battery, "+"), made.at(fuse, "1"), 1.0e-9);
  made.wire(made.at(fuse, "2"), made.at(load, "1"), 1.0e-9);
  made.wire(made.at(load, "2"), made.chassis(), 1.0e-9);
  const circuit::Netlist netlist = circuit::build_netlist(made.loom);
  std::vector<double> tolerance;
  std::size_t fuse_at = 0, load_at = 0;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    tolerance.push_back(netlist.elements[i].tolerance);
    if (netlist.elements[i].kind == circuit::ElementKind::kFuse) fuse_at = i;
    if (netlist.elements[i].ohm == 240.0) load_at = i;
  }
  FaultBench bench(make_model(made.loom, netlist, {}), 24.0);
  const auto sigmas_at = [&](double ohm) {
    bench.put_fault({{fault::Change::Kind::kOhm, circuit::ElementId(load_at), {}, {}, {}, ohm, 0.0}});
    EXPECT_EQ(bench.states().on[fuse_at], 0);
    return sigmas_when_gone(bench.states(), fuse_at);
  };
  EXPECT_EQ(sigmas_at(1.2), 0.0);  // nobody said which tolerances
  bench.expect(tolerance);
  for (const double ohm : {1.75, 1.2}) {
    const double ampere = 24.0 / (ohm + netlist.elements[fuse_at].ohm);
    const double sigma = ampere * std::sqrt(0.02 * 0.02 + 0.05 * 0.05) / 3.0;
    EXPECT_NEAR(sigmas_at(ohm) / ((ampere - 13.5) / sigma), 1.0, 0.02) << ohm;
  }
}

}  // namespace
}  // namespace halfsplit::electrical
