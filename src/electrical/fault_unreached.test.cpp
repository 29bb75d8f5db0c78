// SPDX-License-Identifier: Apache-2.0
// What is kept of a reading without a fault stands for a fault only where it does not reach the reading: held against a
// bench that has kept nothing, which fault_bench.test.cpp holds against a fresh factorisation.
#include <gtest/gtest.h>

#include <cmath>

#include "electrical/both_paths.h"
#include "electrical/random_circuit.h"

namespace halfsplit::electrical {
namespace {

using circuit::EndPoint;
using circuit::PartId;
using circuit::PartKind;
using circuit::WireId;
using test::Both;

constexpr int kProbes = 8;

// Within a thousandth of the meter's digit or a millionth, whichever is more.
bool same_value(const Measured& a, const Measured& b) {
  if (a.settled != b.settled || a.over_range != b.over_range) return false;
  return !a.settled || std::abs(a.value - b.value) <= std::max(1.0e-6 * std::abs(b.value), 2.0e-6);
}

TEST(Unreached, AReadingKeptIsWhatABenchThatKeptNothingReads) {
  std::size_t kept = 0, compared = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    base::Rng rng(seed);
    const RandomCircuit circuit = make_random_circuit(rng);
    const Tolerances tolerance(std::vector<double>(circuit.model.branches.size(), 0.05));
    FaultBench bench(circuit.model, 24.0);
    std::vector<Probe> probes;
    for (int i = 0; i < kProbes; ++i) probes.push_back(make_random_probe(rng, circuit));
    for (const Probe& probe : probes) static_cast<void>(bench.read(probe, tolerance));
    for (int trial = 0; trial < 20; ++trial) {
      const std::vector<fault::Change> changes = make_random_changes(rng, circuit);
      bench.put_fault(changes);
      FaultBench other(circuit.model, 24.0);
      other.put_fault(changes);
      for (const Probe& probe : probes) {
        const Predicted fast = bench.read(probe, tolerance);
        const Predicted fresh = other.read(probe, tolerance);
        ++compared;
        EXPECT_TRUE(same_value(fast.measured, fresh.measured))
            << fast.measured.value << " / " << fresh.measured.value << " seed " << seed << " trial " << trial;
        EXPECT_NEAR(fast.sigma, fresh.sigma, 1.0e-3 * fresh.sigma + 1.0e-6) << "seed " << seed << " trial " << trial;
      }
    }
    kept += bench.counts().as_at_rest;
  }
  EXPECT_GT(kept, compared / 20);
}

// Two lamps on wires of their own; the supply is off, and the second wire is broken or not.
struct TwoLamps {
  TwoLamps() {
    for (int i = 0; i < 2; ++i) {
      const PartId lamp = made.part(PartKind::kLamp, "L" + std::to_string(i), {{"watt", 21.0}}, false);
      const EndPoint end = made.at(made.splice("S" + std::to_string(i)));
      wire[i] = made.wire(end, made.at(lamp, "1"));
      ground[i] = made.wire(made.at(lamp, "2"), made.chassis());
    }
  }
  circuit::test::LoomMaker made;
  WireId wire[2], ground[2];
};

Probe ohms_along(const Both& both, WireId from, WireId to) {
  Probe probe;
  probe.instrument = Instrument::kOhms;
  probe.red = both.model.branches.at(both.netlist.wire_elements.at(from.index()).index()).a;
  probe.black = both.model.branches.at(both.netlist.wire_elements.at(to.index()).index()).b;
  return probe;
}

// An ohmmeter warms a cold filament a little, which is found by going round; once is enough for all faults elsewhere.
TEST(Unreached, OhmsThroughAFilamentAreFoundOnceForAllFaultsElsewhere) {
  const TwoLamps lamps;
  Both both(lamps.made.loom);
  const Tolerances tolerance(std::vector<double>(both.netlist.elements.size(), 0.05));
  const Probe probe = ohms_along(both, lamps.wire[0], lamps.ground[0]);
  const Predicted rest = both.bench.read(probe, tolerance);
  const std::size_t reads = both.bench.counts().general_reads;
  EXPECT_GT(reads, 0U);
  both.resist(lamps.wire[1], 5.0);
  both.bench.put_fault(both.changes);
  EXPECT_EQ(both.bench.read(probe, tolerance).measured.value, rest.measured.value);
  EXPECT_EQ(both.bench.counts().general_reads, reads);
  EXPECT_EQ(both.bench.counts().as_at_rest, 1U);
  both.changes.clear();
  both.resist(lamps.wire[0], 5.0);
  both.bench.put_fault(both.changes);
  EXPECT_GT(both.bench.read(probe, tolerance).measured.value, rest.measured.value + 4.5);
  EXPECT_EQ(both.bench.counts().as_at_rest, 1U);
}

// What lies behind a diode is not seen by the probes until the meter's own volts pass it.
TEST(Unreached, BehindADiodeThatTheMeterPassesAFaultIsSeen) {
  circuit::test::LoomMaker made;
  const EndPoint near = made.at(made.splice("NEAR"));
  const PartId diode = made.part(PartKind::kDiode, "V1", {{"forward_v", 0.1}}, false);
  const PartId behind = made.part(PartKind::kResistor, "R1", {{"ohm", 100.0}}, false);
  const PartId beside = made.part(PartKind::kResistor, "R2", {{"ohm", 100000.0}}, false);
  const WireId first = made.wire(near, made.at(diode, "A"));
  const WireId far = made.wire(made.at(diode, "K"), made.at(behind, "1"));
  const WireId last = made.wire(made.at(behind, "2"), made.chassis());
  made.wire(near, made.at(beside, "1"));
  made.wire(made.at(beside, "2"), made.chassis());
  Both both(made.loom);
  const Tolerances tolerance(std::vector<double>(both.netlist.elements.size(), 0.05));
  const Probe probe = ohms_along(both, first, last);
  const double rest = both.bench.read(probe, tolerance).measured.value;
  both.resist(far, 200.0);
  both.bench.put_fault(both.changes);
  EXPECT_GT(both.bench.read(probe, tolerance).measured.value, rest + 150.0);
}

// Two batteries side by side share what either may be off. The lead between them carries nothing, so that opening it
// moves no volts - but what one may be off is then all there is.
TEST(Unreached, ALeadWithoutCurrentStillSharesTheSpread) {
  test::FedLoom fed;
  const PartId second = fed.made.part(PartKind::kBattery, "BAT2");
  fed.made.wire(fed.made.at(second, "-"), fed.made.chassis());
  const WireId lead = fed.made.wire(fed.feed, fed.made.at(second, "+"));
  Both both(fed.made.loom);
  std::vector<double> each;
  for (const circuit::Element& e : both.netlist.elements) each.push_back(e.tolerance);
  const Tolerances tolerance(each);
  const Functional feed{both.model.branches.at(both.netlist.wire_elements.at(lead.index()).index()).a,
                        both.netlist.reference, 0, false};
  const Predicted rest = both.bench.evaluate(feed, tolerance);
  both.open(lead);
  both.bench.put_fault(both.changes);
  const Predicted opened = both.bench.evaluate(feed, tolerance);
  EXPECT_NEAR(opened.measured.value, rest.measured.value, 1.0e-6);
  EXPECT_GT(opened.sigma, 1.25 * rest.sigma);
}

// Between islands a voltmeter shows nothing, and no circuit is solved for it.
TEST(Unreached, VoltsBetweenTwoIslandsAreNothing) {
  const TwoLamps lamps;
  Both both(lamps.made.loom);
  Probe probe = ohms_along(both, lamps.wire[0], lamps.ground[0]);
  probe.instrument = Instrument::kVolts;
  both.open(lamps.wire[0]);
  both.bench.put_fault(both.changes);
  EXPECT_EQ(both.bench.read(probe, {}).measured.value, 0.0);
  EXPECT_EQ(both.bench.counts().general_reads, 0U);
}

// ... unless a diode lies between them: the meter ties one to the other, and its own current comes back through it.
TEST(Unreached, AVoltmeterClosesTheWayThroughADiodeBetweenTwoIslands) {
  test::FedLoom fed;
  const PartId diode = fed.made.part(PartKind::kDiode, "V1", {{"forward_v", 0.6}}, false);
  const EndPoint loose = fed.made.at(fed.made.splice("LOOSE"));
  fed.join(fed.feed, fed.at(diode, "A"));
  const WireId to = fed.join(fed.at(diode, "K"), loose);
  Both both(fed.made.loom);
  const Model& model = both.model;
  Probe probe;
  probe.red = model.branches.at(both.netlist.wire_elements.at(to.index()).index()).b;
  probe.black = both.netlist.reference;
  const Measured slow = measure(model, probe, 24.0);
  EXPECT_NEAR(both.bench.read(probe, {}).measured.value, slow.value, 1.0e-5);
  EXPECT_GT(slow.value, 20.0);
}

// A test lamp is a source behind a resistance and a filament: no state is looked at for it where it moves none.
TEST(Unreached, ATestLampOnAFeedIsReadAtOnce) {
  test::FedLoom fed;
  const PartId load = fed.made.part(PartKind::kResistor, "R1", {{"ohm", 47.0}}, false);
  const WireId feed = fed.join(fed.feed, fed.at(load, "1"));
  fed.join(fed.at(load, "2"), fed.made.chassis());
  Both both(fed.made.loom);
  Probe probe = ohms_along(both, feed, feed);
  probe.instrument = Instrument::kTestLamp;
  probe.red = probe.black;
  probe.black = both.netlist.reference;
  for (const double ohm : {0.01, 20.0, 2000.0}) {
    both.changes.clear();
    both.resist(feed, ohm);
    both.bench.put_fault(both.changes);
    Model faulted = both.model;
    apply_changes(faulted, both.changes);
    const Tolerances tolerance(std::vector<double>(both.netlist.elements.size(), 0.05));
    const Predicted fast = both.bench.read(probe, tolerance);
    EXPECT_NEAR(fast.measured.value, measure(faulted, probe, 24.0).value, 1.0e-6) << ohm;
    EXPECT_GT(fast.sigma, 0.0);
  }
  EXPECT_EQ(both.bench.counts().general_reads, 0U);
}

}  // namespace
}  // namespace halfsplit::electrical
