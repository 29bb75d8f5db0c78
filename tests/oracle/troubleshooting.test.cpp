// SPDX-License-Identifier: Apache-2.0
// Published troubleshooting problems (tests/data/facts/troubleshooting_problems.csv, sources in the table): the
// readings of the faulty circuit and the single faults that explain them. Every part is opened and shorted in turn by
// the fast path; what agrees with the readings must be exactly what the source, or the enumeration beside it, states.
// Then problems of presence and absence (sources beside each).
#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"
#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

using circuit::PartId;
using circuit::PartKind;
using circuit::test::LoomMaker;
using electrical::FaultBench;
using electrical::Instrument;
using electrical::Probe;
using fault::Change;

struct Suspect {
  std::string name;
  Change change;
};

// "R1 open", "R1 short", "V1 dead".
std::vector<Suspect> single_faults(const CardCircuit& c, const std::vector<Card>& cards) {
  std::vector<Suspect> all;
  for (const Card& card : cards) {
    Change change;
    change.element = circuit::ElementId(c.branch(card.name));
    if (card.name[0] == 'V') {
      change.kind = Change::Kind::kVolt;
      all.push_back({card.name + " dead", change});
      continue;
    }
    change.value = fault::kOpenOhm;
    all.push_back({card.name + " open", change});
    Change shorted = change;
    shorted.value = 1.0e-6;
    all.push_back({card.name + " short", shorted});
  }
  return all;
}

// Volts by our voltmeter, amperes by our clamp, within 0.6 % as the problems are printed.
bool agrees(const CardCircuit& c, FaultBench& bench, const Statement& s) {
  Probe probe;
  if (s.kind == 'V') {
    probe = {Instrument::kVolts, c.node(s.first), c.node(s.second), 0};
  } else {
    probe.instrument = Instrument::kClamp;
    probe.branch = c.branch(s.first);
  }
  const electrical::Measured read = bench.read(probe, {}).measured;
  return read.settled && std::abs(read.value - s.value) <= std::max(0.006 * std::abs(s.value), 1.0e-3);
}

std::set<std::string> names_of(std::string list) {
  std::set<std::string> names;
  for (std::size_t bar; (bar = list.find(" | ")) != std::string::npos; list.erase(0, bar + 3))
    names.insert(list.substr(0, bar));
  names.insert(list);
  return names;
}

TEST(Troubleshooting, ThePublishedFaultsAreTheOnesThatAgreeWithTheReadings) {
  const auto rows = read_facts("troubleshooting_problems.csv");
  EXPECT_EQ(rows.size(), 17U);
  for (const FactRow& row : rows) {
    const std::vector<Card> cards = parse_cards(row.text("healthy_netlist"));
    const std::vector<Statement> readings = parse_statements(row.text("readings_of_the_faulty_circuit"));
    const CardCircuit circuit(cards);
    FaultBench bench(circuit.model, 24.0);
    std::set<std::string> left;
    for (const Suspect& suspect : single_faults(circuit, cards)) {
      bench.put_fault({suspect.change});
      bool all = true;
      for (const Statement& reading : readings) all = all && agrees(circuit, bench, reading);
      if (all) left.insert(suspect.name);
    }
    EXPECT_EQ(left, names_of(row.text("single_faults_found_by_our_enumeration"))) << row.text("id");
    for (const std::string& stated : names_of(row.text("stated_single_faults")))
      EXPECT_TRUE(left.contains(stated)) << row.text("id") << " " << stated;
  }
}

// FAA-H-8083-30, chapter 10 (public domain): three 30 ohm branches, one open, supply off. Across the open branch the
// ohmmeter still shows the two good ones, 15 ohm; lifted at one end, the branch alone shows no end.
TEST(Troubleshooting, AnOpenBranchHidesBehindItsNeighboursUntilOneEndIsLifted) {
  const auto read = [](bool lifted) {
    const CardCircuit circuit(
        parse_cards(lifted ? "R1 1 0 30; R2 1 0 30; R3 4 0 30" : "R1 1 0 30; R2 1 0 30; R3 1 0 30"));
    FaultBench bench(circuit.model, 24.0);
    Change open;
    open.element = circuit::ElementId(circuit.branch("R3"));
    open.value = fault::kOpenOhm;
    bench.put_fault({open});
    return bench.read({Instrument::kOhms, circuit.node(lifted ? "4" : "1"), circuit.node("0"), 0}, {}).measured;
  };
  EXPECT_NEAR(read(false).value, 15.0, 1.0e-6);
  EXPECT_TRUE(read(true).over_range);
}

// The same handbook, page 10-87: in a live string every good resistor shows part of the supply and the shorted one
// none; with the supply off the ohmmeter shows 0 across the shorted one only.
TEST(Troubleshooting, ASeriesShortShowsZeroVoltsAndZeroOhmsAcrossItselfOnly) {
  for (const bool live : {true, false}) {
    const CardCircuit circuit(
        parse_cards(live ? "V1 1 0 24; R1 1 2 10; R2 2 3 10; R3 3 0 10" : "R1 1 2 10; R2 2 3 10; R3 3 0 10"));
    FaultBench bench(circuit.model, 24.0);
    Change shorted;
    shorted.kind = Change::Kind::kBranch;
    shorted.a = circuit.node("2");
    shorted.b = circuit.node("3");
    bench.put_fault({shorted});
    const Instrument instrument = live ? Instrument::kVolts : Instrument::kOhms;
    const double good = live ? 12.0 : 10.0;
    const auto read = [&](const char* red, const char* black) {
      return bench.read({instrument, circuit.node(red), circuit.node(black), 0}, {}).measured.value;
    };
    EXPECT_NEAR(read("1", "2"), good, 1.0e-3);
    EXPECT_NEAR(read("2", "3"), 0.0, 1.0e-3);
    EXPECT_NEAR(read("3", "0"), good, 1.0e-3);
  }
}

// Socratic Electronics worksheet "Basic circuit troubleshooting", question 2 (CC BY 1.0): a terminal block with
// battery, switch and lamp, and where there is voltage with the switch on and off. The wiring that gives all fourteen
// answers was found by us: 1, 4, 9, 10 battery plus; 5, 6, 7 minus; the lamp from plus to 12, the switch from 12 to
// minus.
TEST(Troubleshooting, TerminalBlockShowsVoltageWhereTheWorksheetSays) {
  struct Answer {
    const char *red, *black;
    bool switched_on, switched_off;
  };
  const Answer answers[] = {{"1", "5", true, true},   {"9", "12", true, false},  {"4", "7", true, true},
                            {"6", "7", false, false}, {"4", "10", false, false}, {"6", "12", false, true},
                            {"9", "10", false, false}};
  for (const bool on : {true, false}) {
    LoomMaker m(12.0);
    std::map<std::string, circuit::EndPoint> terminal;
    for (const char* name : {"1", "4", "5", "6", "7", "9", "10", "12"}) terminal[name] = m.at(m.splice(name));
    const auto join = [&](const char* a, const char* b) { m.wire(terminal.at(a), terminal.at(b), 0.01); };
    join("1", "4"), join("4", "9"), join("9", "10"), join("5", "6"), join("6", "7");
    const PartId battery = m.part(PartKind::kBattery, "BATT");
    const PartId lamp = m.part(PartKind::kLamp, "L", {{"watt", 21.0}}, false);
    const PartId button = m.part(PartKind::kSwitch, "SW", {}, false);
    m.loom.parts[button.index()].normally_closed = on;
    m.wire(m.at(battery, "+"), terminal.at("1"), 0.01);
    m.wire(m.at(battery, "-"), terminal.at("5"), 0.01);
    m.wire(terminal.at("10"), m.at(lamp, "1"), 0.01);
    m.wire(m.at(lamp, "2"), terminal.at("12"), 0.01);
    m.wire(terminal.at("12"), m.at(button, "1"), 0.01);
    m.wire(m.at(button, "2"), terminal.at("7"), 0.01);
    const circuit::Netlist netlist = circuit::build_netlist(m.loom);
    FaultBench bench(electrical::make_model(m.loom, netlist, {}), 12.0);
    const auto node = [&](const char* name) {
      return netlist.points[circuit::find_point(netlist, name)->index()].node;
    };
    for (const Answer& a : answers) {
      const double volts = bench.read({Instrument::kVolts, node(a.red), node(a.black), 0}, {}).measured.value;
      const bool expected = on ? a.switched_on : a.switched_off;
      EXPECT_EQ(std::abs(volts) > 1.0, expected) << a.red << " to " << a.black << (on ? " on " : " off ") << volts;
    }
  }
}

// Multimeters 101 (open textbook), troubleshooting principles: volts across a switch mean it is open; the right volts
// across a load that does nothing mean the load has failed; no volts across a switch prove nothing while another break
// may be there.
TEST(Troubleshooting, TwoRulesOfTheVoltmeterAndTheirLimit) {
  const auto volts = [](const char* red, const char* black, std::vector<const char*> opened) {
    const CardCircuit circuit(
        parse_cards("V1 1 0 24; R1 1 2 0.01; R2 2 3 0.01; R3 3 0 27"));  // R1 the switch, R3 the load
    FaultBench bench(circuit.model, 24.0);
    std::vector<Change> changes;
    for (const char* card : opened) {
      changes.emplace_back();
      changes.back().element = circuit::ElementId(circuit.branch(card));
      changes.back().value = fault::kOpenOhm;
    }
    bench.put_fault(changes);
    return bench.read({Instrument::kVolts, circuit.node(red), circuit.node(black), 0}, {}).measured.value;
  };
  EXPECT_NEAR(volts("1", "2", {"R1"}), 24.0, 0.01);
  EXPECT_NEAR(volts("3", "0", {"R3"}), 24.0, 0.01);
  EXPECT_NEAR(volts("1", "2", {"R1", "R2"}), 0.0, 0.01) << "open, and yet no volts";
}

}  // namespace
}  // namespace halfsplit::oracle
