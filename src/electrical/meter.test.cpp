// SPDX-License-Identifier: Apache-2.0
// Meters as a common handheld shows things (common practice; the rules are at the head of meter.h), on circuits small
// enough to work out by hand.
#include "electrical/meter.h"

#include <gtest/gtest.h>

#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {
namespace {

using circuit::ElementKind;

struct Bench {
  std::vector<circuit::ModuleWiring> none;
  Model model;
  explicit Bench(std::size_t nodes) {
    model.nodes = nodes;
    model.modules = &none;
  }
  Branch& add(ElementKind kind, std::size_t a, std::size_t b, double ohm, double volt = 0.0) {
    model.branches.emplace_back();
    Branch& branch = model.branches.back();
    branch.kind = kind;
    branch.a = NodeId(a);
    branch.b = NodeId(b);
    branch.ohm = ohm;
    branch.volt = volt;
    return branch;
  }
  // Both paths; they must agree.
  Measured read(Instrument instrument, std::size_t red, std::size_t black, std::size_t branch = 0,
                const MeterProfile& meter = meters::default_meter()) const {
    const Probe probe{instrument, NodeId(red), NodeId(black), branch, &meter};
    const Measured slow = measure(model, probe, 24.0);
    FaultBench bench(model, 24.0);
    const Measured fast = bench.read(probe, {}).measured;
    EXPECT_EQ(slow.settled, fast.settled);
    EXPECT_EQ(slow.over_range, fast.over_range);
    EXPECT_NEAR(slow.value, fast.value, 1.0e-9 + 1.0e-9 * std::abs(slow.value));
    return slow;
  }
};

TEST(Voltmeter, HasTenMegohmAndASign) {
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  b.add(ElementKind::kResistor, 0, 2, 1.0e7);
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1).value, 12.0, 1.0e-9);
  EXPECT_NEAR(b.read(Instrument::kVolts, 1, 2).value, -12.0, 1.0e-9);
  EXPECT_EQ(b.read(Instrument::kVolts, 2, 2).value, 0.0);
}

TEST(Voltmeter, ReadsNothingBetweenIslands) {
  Bench b(4);
  b.add(ElementKind::kSource, 0, 1, 0.1, 24.0);
  b.add(ElementKind::kSource, 2, 3, 0.1, 24.0);
  EXPECT_NEAR(b.read(Instrument::kVolts, 0, 3).value, 0.0, 1.0e-9);
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1).value, 0.0, 1.0e-9);
}

TEST(Ohmmeter, ReadsEveryRangeUpToSixtyMegohm) {
  for (const double ohm : {0.0, 0.05, 47.0, 599.9, 600.1, 4700.0, 1.0e6, 5.9e7}) {
    Bench b(2);
    b.add(ElementKind::kResistor, 0, 1, ohm);
    const Measured read = b.read(Instrument::kOhms, 0, 1);
    EXPECT_FALSE(read.over_range) << ohm;
    EXPECT_NEAR(read.value, ohm, 1.0e-9 * ohm + 1.0e-9);
  }
  Bench above(2);
  above.add(ElementKind::kResistor, 0, 1, 6.1e7);
  EXPECT_TRUE(above.read(Instrument::kOhms, 0, 1).over_range);
}

TEST(Ohmmeter, ShowsOlBetweenIslandsAndNothingOfALiveCircuit) {
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 1.0, 24.0);
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 2).over_range) << "nothing joins them";
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 1).over_range) << "24 V between the probes";
}

TEST(Ohmmeter, ToleratesFiftyMillivoltsBetweenTheProbes) {
  for (const double volts : {0.049, 0.051}) {
    Bench b(2);
    b.add(ElementKind::kSource, 0, 1, 100.0, volts);
    EXPECT_EQ(b.read(Instrument::kOhms, 0, 1).over_range, volts > 0.05) << volts;
  }
}

// 0.6 V at the top of a range does not open a diode of 0.7 V: what stands beside it is read alone, both ways round.
TEST(Ohmmeter, DoesNotOpenADiode) {
  Bench b(2);
  b.add(ElementKind::kDiode, 0, 1, 0.05, 0.7);
  b.add(ElementKind::kResistor, 0, 1, 1000.0);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1).value, 1000.0, 1.0e-6);
  EXPECT_NEAR(b.read(Instrument::kOhms, 1, 0).value, 1000.0, 1.0e-6);
}

// A filament is cold under an ohmmeter: a twelfth of its hot 27.4 ohm (common practice 1/10 to 1/15).
TEST(Ohmmeter, SeesAColdFilament) {
  Bench b(2);
  b.add(ElementKind::kLamp, 0, 1, 24.0 * 24.0 / 21.0, 24.0);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1).value, 24.0 * 24.0 / 21.0 / 12.0, 0.03);
}

TEST(Clamp, ReadsTheBranchFromItsFirstNodeToItsSecond) {
  Bench b(2);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  b.add(ElementKind::kResistor, 0, 1, 12.0);
  EXPECT_NEAR(b.read(Instrument::kClamp, 0, 0, 1).value, 2.0, 1.0e-12);
  EXPECT_NEAR(b.read(Instrument::kClamp, 0, 0, 0).value, -2.0, 1.0e-12);
}

TEST(TestLamp, LoadsAFeedWithItsFiveWatts) {
  Bench b(2);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  EXPECT_NEAR(b.read(Instrument::kTestLamp, 0, 1).value, 24.0, 1.0e-9);
  Bench weak(2);
  weak.add(ElementKind::kSource, 0, 1, 115.2, 24.0);  // as many ohms as the lamp has when hot
  const double volts = weak.read(Instrument::kTestLamp, 0, 1).value;
  EXPECT_LT(volts, 12.0) << "a dim filament has fewer ohms";
  EXPECT_GT(volts, 5.0);
}

// ---- other meters than the common one

// 1 Mohm, as old and cheap ones have: half of what 10 Mohm leaves of 24 V behind 1 Mohm is gone.
TEST(Voltmeter, LoadsTheCircuitWithItsOwnInput) {
  MeterProfile meter;
  meter.input_ohm = 1.0e6;
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  b.add(ElementKind::kResistor, 0, 2, 1.0e6);
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1, 0, meter).value, 12.0, 1.0e-9);
  meter.input_ohm = 3.0e3;  // low impedance: a ghost voltage goes
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1, 0, meter).value, 24.0 * 3.0 / 1003.0, 1.0e-9);
}

// 3 V full scale, as an analog ohmmeter of two cells: 5 mA through the diode's knee of 0.7 V and 0.05 ohm.
TEST(Ohmmeter, OpensADiodeWithMoreVolts) {
  MeterProfile meter;
  meter.full_scale_v = 3.0;
  Bench b(2);
  b.add(ElementKind::kDiode, 0, 1, 0.05, 0.7);
  b.add(ElementKind::kResistor, 0, 1, 1.0e4);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1, 0, meter).value, (0.7 + 0.05 * 0.005) / (1.0 + 0.05 / 1.0e4) / 0.005,
              1e-6);
  EXPECT_NEAR(b.read(Instrument::kOhms, 1, 0, 0, meter).value, 1.0e4, 1.0e-6);
}

TEST(Ohmmeter, AddsLeadsThatAreNotZeroed) {
  MeterProfile meter;
  meter.lead_ohm = 0.4;
  Bench b(2);
  b.add(ElementKind::kResistor, 0, 1, 0.1);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1, 0, meter).value, 0.5, 1.0e-9);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 0, 0, meter).value, 0.4, 1.0e-9) << "probes together";
  meter.ohms = {{0.45, 1.0, 2.0, 0.01}};
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 1, 0, meter).over_range) << "the range counts what is shown";
}

TEST(Ohmmeter, HasItsOwnTopAndItsOwnIdeaOfLive) {
  MeterProfile meter;
  meter.ohms = {{200.0, 1.0, 2.0, 0.1}, {2.0e6, 1.0, 2.0, 1.0e3}};
  meter.live_v = 0.2;
  Bench b(2);
  b.add(ElementKind::kResistor, 0, 1, 2.1e6);
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 1, 0, meter).over_range);
  b.model.branches.clear();
  b.add(ElementKind::kSource, 0, 1, 100.0, 0.1);
  EXPECT_FALSE(b.read(Instrument::kOhms, 0, 1, 0, meter).over_range);
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 1).over_range);
}

TEST(TestLamp, LoadsWithItsOwnWatts) {
  MeterProfile meter;
  meter.lamp_watt = 21.0;
  Bench b(2);
  b.add(ElementKind::kSource, 0, 1, 24.0 * 24.0 / 21.0, 24.0);  // as many ohms as it has when hot
  Bench common = b;
  EXPECT_LT(b.read(Instrument::kTestLamp, 0, 1, 0, meter).value, 12.0);
  EXPECT_GT(common.read(Instrument::kTestLamp, 0, 1).value, 15.0);
}

// A relay with its contact beside its own coil, behind 80 ohm. From power-up with a lamp beside it the coil never gets
// what it needs; but it is in already when the lamp comes, and what is left is enough to hold it.
TEST(TestLamp, IsPutToACircuitThatStands) {
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 0.0, 25.2);
  b.add(ElementKind::kResistor, 0, 2, 80.0);
  Branch& coil = b.add(ElementKind::kRelayCoil, 2, 1, 300.0, 16.0);
  coil.drop_out_v = 3.0;
  b.add(ElementKind::kRelayContact, 2, 1, 1000.0).control = 2;
  const Measured lit = b.read(Instrument::kTestLamp, 2, 1);
  Model in = b.model, out = b.model;
  in.branches[3].force = 1;
  out.branches[3].force = 0;
  const Probe probe{Instrument::kTestLamp, NodeId(2), NodeId(1), 0, &meters::default_meter()};
  EXPECT_NEAR(lit.value, measure(in, probe, 24.0).value, 1.0e-9);
  EXPECT_GT(measure(out, probe, 24.0).value, lit.value + 0.01);
  EXPECT_LT(measure(out, probe, 24.0).value, 16.0) << "or it would have come in from power-up as well";
}

// Only a driver that a module switches on joins the two points: the ohmmeter's current comes when it is on.
TEST(Ohmmeter, PutsItsCurrentThroughWhatIsOnAlready) {
  Bench b(5);
  b.none.resize(1);
  b.none[0].supply = NodeId(0);
  b.none[0].ground = NodeId(1);
  b.none[0].alive_above_v = 15.0;
  b.model.dead.assign(1, 0);
  b.add(ElementKind::kSource, 0, 1, 0.1, 24.0);
  Branch& driver = b.add(ElementKind::kDriver, 2, 3, 0.05);
  driver.commanded = true;
  driver.module = circuit::ModuleId(0);
  b.add(ElementKind::kResistor, 3, 4, 100.0);
  const Measured read = b.read(Instrument::kOhms, 2, 4);
  EXPECT_FALSE(read.over_range);
  EXPECT_NEAR(read.value, 100.05, 1.0e-6);
}

}  // namespace
}  // namespace halfsplit::electrical
