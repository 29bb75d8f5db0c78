// SPDX-License-Identifier: Apache-2.0
// For tests: a loom with a battery and a feed, and the same faults put into both solving paths.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"

namespace halfsplit::electrical::test {

using circuit::EndPoint;
using circuit::PartId;
using circuit::PartKind;
using circuit::WireId;
using circuit::test::LoomMaker;

struct FedLoom {
  FedLoom() {
    const PartId battery = made.part(PartKind::kBattery, "BATT");
    feed = made.at(made.splice("FEED"));
    made.wire(made.at(battery, "-"), made.chassis());
    made.wire(made.at(battery, "+"), feed);
  }
  PartId relay(const std::string& name) { return made.part(PartKind::kRelay, name, {{"coil_ohm", 200.0}}, false); }
  WireId join(const EndPoint& from, const EndPoint& to) { return made.wire(from, to); }
  EndPoint at(PartId part, const char* terminal) const { return made.at(part, terminal); }

  LoomMaker made;
  EndPoint feed;
};

// The same faults on both paths.
struct Both {
  explicit Both(const circuit::Loom& loom)
      : netlist(circuit::build_netlist(loom)), model(make_model(loom, netlist, {})), bench(model, 24.0) {}
  void open(WireId wire) {
    fault::Change change;
    change.element = netlist.wire_elements.at(wire.index());
    change.value = fault::kOpenOhm;
    changes.push_back(change);
  }
  void resist(WireId wire, double ohm) {
    open(wire);
    changes.back().value = ohm;
  }
  void touch(WireId one, WireId other) {
    fault::Change change;
    change.kind = fault::Change::Kind::kBranch;
    change.a = model.branches.at(netlist.wire_elements.at(one.index()).index()).b;
    change.b = model.branches.at(netlist.wire_elements.at(other.index()).index()).b;
    change.value = 0.1;
    changes.push_back(change);
  }
  // No current off by more than this share of itself, or 1e-9 A.
  void expect_alike(double share = 0.0) {
    bench.put_fault(changes);
    apply_changes(model, changes);
    const OperatingPoint slow = solve_operating_point(model);
    ASSERT_EQ(bench.fault_status(), slow.status);
    if (slow.status != Status::kSettled) return;
    EXPECT_EQ(std::vector<char>(bench.states().on.begin(), bench.states().on.begin() + count()),
              std::vector<char>(slow.states.on.begin(), slow.states.on.begin() + count()));
    double worst = 0.0;
    for (std::size_t i = 0; i < netlist.elements.size(); ++i)
      worst = std::max(worst, std::abs(bench.evaluate({{}, {}, i, true}, {}).measured.value - slow.amperes(i)) -
                                  share * std::abs(slow.amperes(i)));
    EXPECT_LT(worst, 1.0e-9);
  }
  [[nodiscard]] std::ptrdiff_t count() const { return static_cast<std::ptrdiff_t>(netlist.elements.size()); }
  [[nodiscard]] std::size_t refactored() const { return bench.counts().refactored; }

  circuit::Netlist netlist;
  Model model;
  FaultBench bench;
  std::vector<fault::Change> changes;
};

}  // namespace halfsplit::electrical::test
