// SPDX-License-Identifier: Apache-2.0
// Faults that leave a relay to the way it came: the fast path must come to rest as a power-up does, and mostly without
// factorising the vehicle anew for it.
#include <gtest/gtest.h>

#include "electrical/both_paths.h"

namespace halfsplit::electrical {
namespace {

using circuit::EndPoint;
using circuit::PartId;
using circuit::PartKind;
using circuit::WireId;
using test::Both;
using Relays = test::FedLoom;

// Its trigger is broken, and its output chafes through to its coil: once in it would stay in, but it never comes.
TEST(PowerUp, AShortThatWouldHoldARelay) {
  Relays r;
  const PartId relay = r.relay("K1");
  const PartId lamp = r.made.part(PartKind::kResistor, "R1", {{"ohm", 50.0}});
  const PartId button = r.made.part(PartKind::kSwitch, "S1", {}, false);
  r.made.loom.parts[button.index()].normally_closed = true;
  r.join(r.feed, r.at(button, "1"));
  const WireId trigger = r.join(r.at(button, "2"), r.at(relay, "85"));
  r.join(r.at(relay, "86"), r.made.chassis());
  r.join(r.feed, r.at(relay, "30"));
  const WireId out = r.join(r.at(relay, "87"), r.at(lamp, "1"));
  r.join(r.at(lamp, "2"), r.made.chassis());
  Both both(r.made.loom);
  ASSERT_NE(both.bench.healthy().states.on, starting_states(both.model).on) << "it is in while nothing is wrong";
  both.open(trigger);
  both.touch(trigger, out);
  both.expect_alike();
}

// A contact that is closed at rest chafes through to the coil: it buzzes, on both paths.
TEST(PowerUp, AShortThatMakesABuzzer) {
  Relays r;
  const PartId relay = r.relay("K1");
  const PartId button = r.made.part(PartKind::kSwitch, "S1", {}, false);
  const PartId load = r.made.part(PartKind::kResistor, "R1", {{"ohm", 50.0}});
  r.join(r.feed, r.at(button, "1"));
  const WireId coil = r.join(r.at(button, "2"), r.at(relay, "85"));
  r.join(r.at(relay, "86"), r.made.chassis());
  r.join(r.feed, r.at(relay, "30"));
  const WireId out = r.join(r.at(relay, "87a"), r.at(load, "1"));
  r.join(r.at(load, "2"), r.made.chassis());
  Both both(r.made.loom);
  ASSERT_EQ(both.bench.status(), Status::kSettled);
  both.touch(coil, out);
  both.expect_alike();
  EXPECT_EQ(both.bench.fault_status(), Status::kUnsettled);
  EXPECT_EQ(both.refactored(), 0U);
}

// A corroded wire leaves a coil between its drop-out and its pull-in volts: it was in, it does not come again.
TEST(PowerUp, ACoilBetweenDropOutAndPullIn) {
  Relays r;
  const PartId relay = r.relay("K1");
  const PartId load = r.made.part(PartKind::kResistor, "R1", {{"ohm", 50.0}});
  const WireId coil = r.join(r.feed, r.at(relay, "85"));
  r.join(r.at(relay, "86"), r.made.chassis());
  r.join(r.feed, r.at(relay, "30"));
  r.join(r.at(relay, "87"), r.at(load, "1"));
  r.join(r.at(load, "2"), r.made.chassis());
  Both both(r.made.loom);
  both.resist(coil, 200.0);
  both.expect_alike();
  EXPECT_EQ(both.refactored(), 0U);
}

// One relay comes by way of the closed contact of another, holds itself, and pulls that other in: how it came can only
// be told by the whole way.
TEST(PowerUp, ARelayThatCameByAContactSinceOpened) {
  for (const double ohm : {0.5, 20.0, 150.0, 400.0}) {
    Relays r;
    const PartId first = r.relay("K1");
    const PartId second = r.relay("K2");
    const EndPoint coil = r.made.at(r.made.splice("COIL"));
    const EndPoint out = r.made.at(r.made.splice("OUT"));
    const WireId supply = r.join(r.feed, r.at(second, "30"));  // of the battery's net, but nothing hangs on it once on
    const WireId start = r.join(r.at(second, "87a"), coil);
    const WireId hold = r.join(out, coil);
    r.join(coil, r.at(first, "85"));
    r.join(r.at(first, "86"), r.made.chassis());
    r.join(r.feed, r.at(first, "30"));
    r.join(r.at(first, "87"), out);
    const WireId on = r.join(out, r.at(second, "85"));
    r.join(r.at(second, "86"), r.made.chassis());
    for (const WireId wire : {supply, start, hold, on}) {
      Both both(r.made.loom);
      SCOPED_TRACE(std::to_string(wire.value) + " at " + std::to_string(ohm));
      both.resist(wire, ohm);
      both.expect_alike();
    }
  }
}

// What it feeds through a diode has a feed of its own: with the relay out that feed must not be seen through the diode.
TEST(PowerUp, ARelayThatHoldsItselfBesideADiode) {
  Relays r;
  const PartId relay = r.relay("K1");
  const PartId diode = r.made.part(PartKind::kDiode, "D1");
  const PartId feed = r.made.part(PartKind::kResistor, "R1", {{"ohm", 10.0}});
  const PartId load = r.made.part(PartKind::kResistor, "R2", {{"ohm", 50.0}});
  const EndPoint coil = r.made.at(r.made.splice("COIL"));
  const EndPoint out = r.made.at(r.made.splice("OUT"));
  const EndPoint fed = r.made.at(r.made.splice("FED"));
  const WireId start = r.join(r.feed, coil);
  r.join(coil, r.at(relay, "85"));
  r.join(r.at(relay, "86"), r.made.chassis());
  r.join(r.feed, r.at(relay, "30"));
  r.join(r.at(relay, "87"), out);
  r.join(out, coil);
  r.join(out, r.at(diode, "A"));
  r.join(r.at(diode, "K"), fed);
  r.join(r.feed, r.at(feed, "1"));
  r.join(r.at(feed, "2"), fed);
  r.join(fed, r.at(load, "1"));
  r.join(r.at(load, "2"), r.made.chassis());
  Both both(r.made.loom);
  both.open(start);
  both.expect_alike();
}

// The same, but the other relay comes by itself: off alone, the first would never come, so that the way of all is
// asked.
TEST(PowerUp, ARelayThatCameBeforeAnotherOpenedItsWay) {
  Relays r;
  const PartId first = r.relay("K1");
  const PartId second = r.relay("K2");
  const EndPoint coil = r.made.at(r.made.splice("COIL"));
  r.join(r.feed, r.at(second, "30"));
  r.join(r.at(second, "87a"), coil);
  r.join(r.feed, r.at(second, "85"));
  r.join(r.at(second, "86"), r.made.chassis());
  const WireId worn = r.join(coil, r.at(first, "85"));
  r.join(r.at(first, "86"), r.made.chassis());
  r.join(r.feed, r.at(first, "30"));
  r.join(r.at(first, "87"), coil);
  for (int i = 0; i < 40; ++i) {  // others on the same feed: what they do is not looked at one by one
    const PartId other = r.relay("K" + std::to_string(10 + i));
    r.join(r.feed, r.at(other, "85"));
    r.join(r.at(other, "86"), r.made.chassis());
  }
  Both both(r.made.loom);
  both.resist(worn, 5.0);
  both.expect_alike();
  EXPECT_GT(both.refactored(), 0U);
}

// A hundred relays that hold themselves, all started by one key line; one more hangs on it by itself.
struct HeldByTheKey : Relays {
  HeldByTheKey() {
    const EndPoint line = made.at(made.splice("KEY"));
    key = join(feed, line);
    for (int i = 0; i < 100; ++i) {
      const PartId one = relay("K" + std::to_string(i));
      const PartId starter = made.part(PartKind::kDiode, "D" + std::to_string(i), {}, false);
      const EndPoint coil = made.at(made.splice("S" + std::to_string(i)));
      join(line, at(starter, "A"));
      join(at(starter, "K"), coil);
      join(coil, at(one, "85"));
      join(at(one, "86"), made.chassis());
      join(feed, at(one, "30"));
      join(at(one, "87"), coil);
    }
    const PartId last = relay("K100");
    const PartId load = made.part(PartKind::kResistor, "R1", {{"ohm", 50.0}}, false);
    own = join(line, at(last, "85"));
    join(at(last, "86"), made.chassis());
    join(feed, at(last, "30"));
    join(at(last, "87"), at(load, "1"));
    join(at(load, "2"), made.chassis());
  }
  WireId key, own;
};

std::size_t coils_in(const Both& both) {
  std::size_t in = 0;
  for (std::size_t i = 0; i < both.netlist.elements.size(); ++i)
    if (both.netlist.elements[i].kind == circuit::ElementKind::kRelayCoil && both.bench.states().on[i] != 0) ++in;
  return in;
}

// All of them are let go to see whether they come again: not as a hundred updates, nor by factorising anew.
TEST(PowerUp, ManyThatHoldThemselvesComeAgainBehindAWornKeyLine) {
  HeldByTheKey r;
  Both both(r.made.loom);
  both.resist(r.key, 0.5);
  both.expect_alike();
  EXPECT_EQ(both.refactored(), 0U);
}

// Their coils draw the line below what pulls them in, but not below what would hold them.
TEST(PowerUp, ManyThatHoldThemselvesNeverComeBehindAKeyLineThatIsTooWorn) {
  HeldByTheKey r;
  Both both(r.made.loom);
  both.resist(r.key, 1.0);
  both.expect_alike();
  EXPECT_EQ(coils_in(both), 1U) << "the one with no diode before it";
}

TEST(PowerUp, ManyThatHoldThemselvesNeverComeBehindABrokenKeyLine) {
  HeldByTheKey r;
  Both both(r.made.loom);
  ASSERT_EQ(coils_in(both), 101U);
  both.open(r.key);
  both.expect_alike();
  EXPECT_EQ(coils_in(both), 0U);
}

TEST(PowerUp, OneBelowItsPullInStaysOffWhileTheOthersCome) {
  HeldByTheKey r;
  Both both(r.made.loom);
  both.resist(r.key, 0.1);
  both.resist(r.own, 150.0);
  both.expect_alike();
  EXPECT_EQ(both.refactored(), 0U);
}

// A feed gone high moves every filament on it: asked often, such a fault gets a factorisation of its own, and the meter
// shows the same before and after.
TEST(ManyUpdates, ReadTheSameOnceTheyHaveAFactorisationOfTheirOwn) {
  Relays r;
  const EndPoint common = r.made.at(r.made.splice("COMMON"));
  const WireId feed = r.join(r.feed, common);
  for (int i = 0; i < 100; ++i) {
    const PartId lamp = r.made.part(PartKind::kLamp, "L" + std::to_string(i), {{"watt", 5.0}}, false);
    r.join(common, r.at(lamp, "1"));
    r.join(r.at(lamp, "2"), r.made.chassis());
  }
  Both both(r.made.loom);
  both.resist(feed, 1.0);
  both.bench.put_fault(both.changes);
  ASSERT_EQ(both.bench.fault_status(), Status::kSettled);
  ASSERT_EQ(both.refactored(), 0U);
  const meters::MeterProfile meter = meters::default_meter();
  const auto node = [&](const char* name) {
    return both.netlist.points[both.netlist.point_by_name.at(name).index()].node;
  };
  std::vector<double> tolerances(both.netlist.elements.size(), 0.05);
  const Tolerances tolerance(tolerances);
  const Probe probe{Instrument::kVolts, node("COMMON"), node("chassis"), 0, &meter};
  const std::uint32_t print = both.bench.print();
  const Predicted first = both.bench.read(probe, tolerance);
  EXPECT_GT(first.measured.value, 1.0);
  EXPECT_GT(first.sigma, 0.0);
  for (int i = 0; i < 40; ++i) {
    const Predicted again = both.bench.read(probe, tolerance);
    ASSERT_NEAR(again.measured.value, first.measured.value, 1.0e-4) << i;
    ASSERT_NEAR(again.sigma, first.sigma, 1.0e-3 * first.sigma) << i;
  }
  EXPECT_EQ(both.refactored(), 1U);
  EXPECT_EQ(both.bench.print(), print);
  both.bench.clear();
  EXPECT_GT(both.bench.volts(node("COMMON")) - both.bench.volts(node("chassis")), first.measured.value + 1.0);
}

}  // namespace
}  // namespace halfsplit::electrical
