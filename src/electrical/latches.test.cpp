// SPDX-License-Identifier: Apache-2.0
// Circuits that hold themselves, as vehicles have them. Every reading is a power-up of its own (docs/formats/loom.md,
// "States"), so with the trigger's wire broken nothing may be found held, on either path, whatever the healthy circuit
// did.
#include <gtest/gtest.h>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"

namespace halfsplit::electrical {
namespace {

using circuit::Configuration;
using circuit::EndPoint;
using circuit::ModuleId;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::SetupId;
using circuit::WireId;
using circuit::test::LoomMaker;

struct Latch {
  Latch() : awake(made.setup("awake")) {
    const PartId battery = made.part(PartKind::kBattery, "BATT");
    feed = made.at(made.splice("FEED"));
    made.wire(made.at(battery, "-"), made.chassis());
    made.wire(made.at(battery, "+"), feed);
  }

  // Both paths with that wire broken must find the same states and clamp currents.
  void expect_dropped(WireId broken) {
    const circuit::Netlist netlist = circuit::build_netlist(made.loom);
    Configuration configuration;
    configuration.made = {awake};
    Model model = make_model(made.loom, netlist, configuration);
    FaultBench bench(model, 24.0);
    const OperatingPoint healthy = solve_operating_point(model);
    fault::Change open;
    open.element = netlist.wire_elements.at(broken.index());
    open.value = fault::kOpenOhm;
    bench.put_fault({open});
    apply_changes(model, {open});
    const OperatingPoint slow = solve_operating_point(model);
    ASSERT_EQ(slow.status, Status::kSettled);
    ASSERT_NE(healthy.states.on, slow.states.on) << "it holds while its trigger is whole";
    EXPECT_EQ(bench.states().on, slow.states.on);
    EXPECT_EQ(bench.states().alive, slow.states.alive);
    for (std::size_t i = 0; i < model.branches.size(); ++i)
      EXPECT_NEAR(bench.evaluate({{}, {}, i, true}, {}).measured.value, slow.amperes(i), 1.0e-9);
  }

  LoomMaker made;
  SetupId awake;
  EndPoint feed;
};

TEST(Latches, ARelayThatHoldsItselfBesideItsButton) {
  Latch latch;
  LoomMaker& m = latch.made;
  const PartId button = m.part(PartKind::kSwitch, "S1");
  m.loom.parts[button.index()].normally_closed = true;
  const PartId relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
  const EndPoint coil = m.at(m.splice("COIL"));
  const WireId trigger = m.wire(latch.feed, m.at(button, "1"));
  m.wire(m.at(button, "2"), coil);
  m.wire(coil, m.at(relay, "85"));
  m.wire(m.at(relay, "86"), m.chassis());
  m.wire(latch.feed, m.at(relay, "30"));
  m.wire(m.at(relay, "87"), coil);
  latch.expect_dropped(trigger);
}

// The main relay of an engine control: the key pulls it in through a diode, then the module that it feeds holds it.
TEST(Latches, AMainRelayThatItsOwnModuleHolds) {
  Latch latch;
  LoomMaker& m = latch.made;
  const PartId relay = m.part(PartKind::kRelay, "K1", {{"coil_ohm", 200.0}});
  const PartId diode = m.part(PartKind::kDiode, "D1");
  const ModuleId ecu = m.module("ECU");
  ModulePin supply;
  supply.role = PinRole::kSupply;
  supply.draw_a = 0.5;
  ModulePin hold;
  hold.role = PinRole::kHighSide;
  hold.on_with = {latch.awake};
  const EndPoint coil = m.at(m.splice("COIL"));
  const WireId key = m.wire(latch.feed, m.at(diode, "A"));
  m.wire(m.at(diode, "K"), coil);
  m.wire(coil, m.at(relay, "85"));
  m.wire(m.at(relay, "86"), m.chassis());
  m.wire(m.at(ecu, m.pin(ecu, "", "3", hold)), coil);
  m.wire(latch.feed, m.at(relay, "30"));
  m.wire(m.at(relay, "87"), m.at(ecu, m.pin(ecu, "", "1", supply)));
  m.wire(m.at(ecu, m.pin(ecu, "2", PinRole::kGround)), m.chassis());
  latch.expect_dropped(key);
}

// No relay at all: a low-side driver grounds its own module through a load's ground when the real ground is gone.
TEST(Latches, ADriverThatHoldsUpItsOwnModule) {
  Latch latch;
  LoomMaker& m = latch.made;
  const ModuleId ecu = m.module("ECU");
  ModulePin supply;
  supply.role = PinRole::kSupply;
  supply.draw_a = 0.001;
  ModulePin out;
  out.role = PinRole::kLowSide;
  out.on_with = {latch.awake};
  m.wire(latch.feed, m.at(ecu, m.pin(ecu, "", "1", supply)));
  const WireId ground = m.wire(m.at(ecu, m.pin(ecu, "2", PinRole::kGround)), m.chassis());
  const PartId load = m.part(PartKind::kResistor, "R1", {{"ohm", 100.0}});
  m.wire(m.at(ecu, m.pin(ecu, "", "3", out)), m.at(load, "1"));
  m.wire(m.at(load, "2"), m.chassis());
  latch.expect_dropped(ground);
}

}  // namespace
}  // namespace halfsplit::electrical
