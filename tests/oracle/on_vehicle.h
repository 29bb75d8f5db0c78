// SPDX-License-Identifier: Apache-2.0
// For tests of what the trade expects: a loom made in code, faults by name and severity, and one meter after the other
// through the fast path; and a bus of two modules, one terminator inside the one, one as a part.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"

namespace halfsplit::oracle {

// A loom, a configuration, faults by name, and one meter after the other.
class OnVehicle {
 public:
  explicit OnVehicle(circuit::Loom loom, const circuit::Configuration& configuration = {})
      : loom_(std::move(loom)),
        netlist_(circuit::build_netlist(loom_)),
        universe_(fault::make_universe(loom_, netlist_)),
        bench_(electrical::make_model(loom_, netlist_, configuration), loom_.system_volts) {}

  void put(const std::vector<std::pair<std::string, double>>& faults) {
    std::vector<fault::Change> all;
    for (const auto& [name, severity] : faults) {
      const fault::FaultId id = universe_.find(name);
      ASSERT_FALSE(id.is_none()) << name;
      for (const fault::Change& change : fault::changes_of(netlist_, universe_.faults[id.index()], severity))
        all.push_back(change);
    }
    bench_.put_fault(all);
  }
  // A transmitter of this module holds the bus dominant: 4.5 V behind 30 ohm to its one line, 0.5 V behind 30 ohm to
  // the other (docs/formats/loom.md, section 9).
  void hold_dominant(std::size_t module, const std::string& high, const std::string& low) {
    const circuit::NodeId ground = netlist_.modules.at(module).ground;
    std::vector<fault::Change> all(2);
    for (fault::Change& change : all) {
      change.kind = fault::Change::Kind::kSource;
      change.b = ground;
      change.value = 30.0;
    }
    all[0].a = node(high), all[0].volt = 4.5;
    all[1].a = node(low), all[1].volt = 0.5;
    bench_.put_fault(all);
  }
  electrical::Measured read(electrical::Instrument instrument, const std::string& red, const std::string& black) {
    return bench_.read({instrument, node(red), node(black), 0}, {}).measured;
  }
  double volts(const std::string& red, const std::string& black) {
    return read(electrical::Instrument::kVolts, red, black).value;
  }
  electrical::Measured ohms(const std::string& red, const std::string& black) {
    return read(electrical::Instrument::kOhms, red, black);
  }
  double clamp(std::size_t wire) {
    electrical::Probe probe;
    probe.instrument = electrical::Instrument::kClamp;
    probe.branch = netlist_.wire_elements.at(wire).index();
    return std::abs(bench_.read(probe, {}).measured.value);
  }
  bool alive(std::size_t module) const { return bench_.states().alive.at(module) != 0; }
  double lamp_on(const std::string& red, const std::string& black) {
    return read(electrical::Instrument::kTestLamp, red, black).value;
  }

 private:
  circuit::NodeId node(const std::string& point) const {
    return netlist_.points.at(circuit::find_point(netlist_, point)->index()).node;
  }

  circuit::Loom loom_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  electrical::FaultBench bench_;
};

// A module with a terminator inside at one end, a plain one on a stub, a terminator as a part at the other end; wires
// w0, w2, w4 are one line, w1, w3, w5 the other. With `key` the two modules are fed.
struct Bus {
  circuit::SetupId key;
  circuit::Loom loom;
  Bus() {
    circuit::test::LoomMaker m;
    key = m.setup("key on");
    const circuit::PartId battery = m.part(circuit::PartKind::kBattery, "BATT");
    const circuit::PartId isolator = m.part(circuit::PartKind::kSwitch, "KEY");
    m.loom.setups[0].sets.emplace_back(isolator, true);
    const circuit::ModuleId engine = m.module("ENGINE");
    const circuit::ModuleId body = m.module("BODY");
    std::size_t pins[2][4];
    const circuit::PinRole roles[] = {circuit::PinRole::kSupply, circuit::PinRole::kGround, circuit::PinRole::kCanHigh,
                                      circuit::PinRole::kCanLow};
    for (std::size_t i = 0; i < 4; ++i) {
      pins[0][i] = m.pin(engine, std::to_string(i + 1), roles[i]);
      pins[1][i] = m.pin(body, std::to_string(i + 1), roles[i]);
    }
    circuit::ModuleInside inside;
    inside.pin_a = pins[0][2];
    inside.pin_b = pins[0][3];
    m.loom.modules[0].inside.push_back(inside);
    const circuit::PartId far = m.part(circuit::PartKind::kTerminator, "T1");
    const circuit::EndPoint high = m.at(m.splice("SH")), low = m.at(m.splice("SL"));
    m.wire(m.at(engine, pins[0][2]), high, 0.5, 4.0), m.wire(m.at(engine, pins[0][3]), low, 0.5, 4.0);
    m.wire(high, m.at(body, pins[1][2]), 0.5, 1.0), m.wire(low, m.at(body, pins[1][3]), 0.5, 1.0);
    m.wire(high, m.at(far, "1"), 0.5, 8.0), m.wire(low, m.at(far, "2"), 0.5, 8.0);
    for (circuit::Wire& wire : m.loom.wires) wire.bundle = "bus";
    m.wire(m.at(battery, "+"), m.at(isolator, "1"), 2.5, 2.0);
    m.wire(m.at(isolator, "2"), m.at(engine, pins[0][0]), 2.5, 2.0),
        m.wire(m.at(isolator, "2"), m.at(body, pins[1][0]), 2.5, 2.0);
    m.wire(m.at(engine, pins[0][1]), m.chassis(), 2.5, 1.0), m.wire(m.at(body, pins[1][1]), m.chassis(), 2.5, 1.0);
    m.wire(m.at(battery, "-"), m.chassis(), 25.0, 0.5);
    loom = m.loom;
  }
  OnVehicle at_rest() const { return OnVehicle(loom); }
};

}  // namespace halfsplit::oracle
