// SPDX-License-Identifier: Apache-2.0
// Buses, seats, gateways and messages as docs/formats/buses.md, "Keys", says: a loom that uses all of it
// (tests/data/looms/orrin.loom.toml) and small ones. What is refused: loom_errors.test.cpp.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "circuit/bus_kinds.h"
#include "circuit/oddities.h"
#include "formats/loom_fields.h"
#include "formats/loom_text.h"
#include "formats/point_text.h"

namespace halfsplit::formats {
namespace {

using circuit::BusKind;
using circuit::Loom;

constexpr const char* kFixture = "tests/data/looms/orrin.loom.toml";

std::string fixture_text() {
  std::ifstream in(kFixture, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

const Loom& bus_fixture() {
  static const base::Result<Loom> read = read_loom_text(kFixture, fixture_text());
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_TRUE(read.diagnostics().empty()) << base::format_diagnostics(read.diagnostics());
  return read.value();
}

base::Result<Loom> read_small(const std::string& text) {
  return read_loom_text("t", "loom = 1\nname = \"t\"\n" + text);
}

Loom small_bus(const std::string& text) {
  base::Result<Loom> read = read_small(text);
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  return read.ok() ? std::move(read).value() : Loom();
}

template <class List>
auto find(const List& list, const std::string& name) -> const typename List::value_type& {
  const auto found = std::find_if(list.begin(), list.end(), [&](const auto& item) { return item.name == name; });
  EXPECT_NE(found, list.end()) << name;
  static const typename List::value_type none;
  return found == list.end() ? none : *found;
}

std::string bus_of(const Loom& loom, const std::string& module, const std::string& cavity) {
  for (const circuit::ModulePin& pin : find(loom.modules, module).pins)
    if (pin.cavity == cavity) return pin.bus.is_none() ? "none" : loom.buses.at(pin.bus.index()).name;
  return "no such pin";
}

std::vector<std::string> error_codes(const base::Result<Loom>& read) {
  std::vector<std::string> codes;
  for (const base::Diagnostic& diagnostic : read.diagnostics()) codes.push_back(diagnostic.code);
  return codes;
}

TEST(LoomBuses, FiguresComeFromTheLoomOrTheKind) {
  const Loom& loom = bus_fixture();
  ASSERT_EQ(loom.buses.size(), 6U);
  const circuit::Bus& chassis = find(loom.buses, "chassis");
  EXPECT_EQ(chassis.kind, BusKind::kCan);
  EXPECT_EQ(chassis.bit_rate, 500.0);
  EXPECT_EQ(chassis.sample_percent, 80.0);
  EXPECT_EQ(chassis.dominant_percent, 15.0);
  EXPECT_TRUE(chassis.declared);
  const circuit::Bus& body = find(loom.buses, "body");  // nothing said
  EXPECT_EQ(body.kind, BusKind::kCan);
  EXPECT_EQ(body.bit_rate, 250.0);
  EXPECT_EQ(body.sample_percent, 87.0);
  EXPECT_EQ(body.dominant_percent, 12.0);
  EXPECT_EQ(find(loom.buses, "doors").kind, BusKind::kCanFaultTolerant);
  EXPECT_EQ(find(loom.buses, "doors").bit_rate, 125.0);
  EXPECT_EQ(find(loom.buses, "trailer").kind, BusKind::kTruckTrailer);
  EXPECT_EQ(find(loom.buses, "seats").kind, BusKind::kCanSingleWire);
  EXPECT_EQ(find(loom.buses, "seats").sample_percent, 80.0);
  EXPECT_EQ(find(loom.buses, "wipers").kind, BusKind::kLin);
  EXPECT_EQ(find(loom.buses, "wipers").bit_rate, 19.2);
}

TEST(LoomBuses, TheReaderSitsAtItsPoints) {
  const Loom& loom = bus_fixture();
  const circuit::Bus& chassis = find(loom.buses, "chassis");
  ASSERT_TRUE(chassis.reader_high && chassis.reader_low);
  EXPECT_EQ(format_end_point(loom, *chassis.reader_high), "X9:C@loom");
  EXPECT_EQ(format_end_point(loom, *chassis.reader_low), "X9:D@loom");
  const circuit::Bus& wipers = find(loom.buses, "wipers");
  ASSERT_TRUE(wipers.reader_high);
  EXPECT_EQ(format_end_point(loom, *wipers.reader_high), "GW:9");
  EXPECT_FALSE(wipers.reader_low);
  EXPECT_FALSE(find(loom.buses, "body").reader_high);
}

TEST(LoomBuses, PinsAndGateways) {
  const Loom& loom = bus_fixture();
  EXPECT_EQ(bus_of(loom, "GW", "1"), "chassis");
  EXPECT_EQ(bus_of(loom, "GW", "4"), "body");
  EXPECT_EQ(bus_of(loom, "GW", "9"), "wipers");
  EXPECT_EQ(bus_of(loom, "GW", "11"), "none");
  const circuit::Module& gateway = find(loom.modules, "GW");
  EXPECT_TRUE(gateway.pins[8].commander);
  EXPECT_FALSE(gateway.pins[9].commander);
  std::vector<std::string> names;
  for (const circuit::BusId bus : gateway.gateway) names.push_back(loom.buses.at(bus.index()).name);
  EXPECT_EQ(names, (std::vector<std::string>{"chassis", "body", "doors", "wipers", "seats"}));
  const circuit::Module& engine = find(loom.modules, "ENGINE");
  EXPECT_EQ(engine.pins[0].input_ohm, 20000.0);
  EXPECT_EQ(engine.pins[1].unpowered_ohm, 5000.0);
  EXPECT_TRUE(engine.gateway.empty());
}

TEST(LoomBuses, Messages) {
  const Loom& loom = bus_fixture();
  ASSERT_EQ(loom.messages.size(), 4U);
  const circuit::Message& speed = find(loom.messages, "engine speed");
  EXPECT_EQ(loom.modules.at(speed.from.index()).name, "ENGINE");
  ASSERT_EQ(speed.to.size(), 2U);
  EXPECT_EQ(loom.modules.at(speed.to[1].index()).name, "CLUSTER");
  EXPECT_EQ(loom.buses.at(speed.bus.index()).name, "chassis");
  EXPECT_EQ(speed.pgn, 61444U);
  EXPECT_FALSE(speed.id);
  EXPECT_EQ(speed.every_ms, 10.0);  // of the group
  EXPECT_EQ(speed.text, "EEC1: engine speed and torque");
  const circuit::Message& temperatures = find(loom.messages, "temperatures");
  EXPECT_EQ(temperatures.pgn, 65262U);
  EXPECT_EQ(temperatures.every_ms, 500.0);  // the loom's own words go first
  EXPECT_EQ(temperatures.text, "how hot the engine is");
  EXPECT_TRUE(temperatures.bus.is_none());
  EXPECT_TRUE(temperatures.to.empty());
  EXPECT_EQ(find(loom.messages, "door 1/2").id, 0x18FEF100U);
  EXPECT_EQ(find(loom.messages, "wipe").id, 35U);
  EXPECT_EQ(find(loom.messages, "wipe").every_ms, 0.0);
}

TEST(LoomBuses, CodesForLostModulesAndLostMessages) {
  const Loom& loom = bus_fixture();
  const circuit::Code& module = find(loom.codes, "SPN 639 FMI 9");
  EXPECT_EQ(loom.modules.at(module.lost.index()).name, "ENGINE");
  EXPECT_TRUE(module.lost_message.is_none());
  const circuit::Code& message = find(loom.codes, "no engine speed");
  EXPECT_EQ(loom.messages.at(message.lost_message.index()).name, "engine speed");
  EXPECT_EQ(loom.modules.at(message.lost.index()).name, "ENGINE");  // its sender
}

TEST(LoomBuses, ANameThatIsBothIsTheModule) {
  const Loom loom = small_bus(
      "[modules.A]\npins = { 1 = \"can-high\", 2 = \"can-low\" }\n[modules.B]\npins = { 1 = \"can-high\", 2 = "
      "\"can-low\" }\n[messages.A]\nfrom = \"B\"\n[codes.x]\nmodule = \"B\"\nlost = \"A\"\n");
  ASSERT_EQ(loom.codes.size(), 1U);
  EXPECT_EQ(loom.modules.at(loom.codes[0].lost.index()).name, "A");
  EXPECT_TRUE(loom.codes[0].lost_message.is_none());
}

TEST(LoomBuses, ALoomWithoutBusesHasOneForItsBusPins) {
  const Loom loom = small_bus("[modules.M]\npins = { 1 = \"can-high\", 2 = \"can-low\", 3 = \"ground\" }\n");
  ASSERT_EQ(loom.buses.size(), 1U);
  EXPECT_EQ(loom.buses[0].name, "CAN");
  EXPECT_EQ(loom.buses[0].kind, BusKind::kCan);
  EXPECT_FALSE(loom.buses[0].declared);
  EXPECT_EQ(bus_of(loom, "M", "1"), "CAN");
  EXPECT_EQ(bus_of(loom, "M", "2"), "CAN");
  EXPECT_EQ(bus_of(loom, "M", "3"), "none");
  EXPECT_TRUE(small_bus("[modules.M]\npins = { 3 = \"ground\" }\n").buses.empty());
}

// Looms written before there were buses stay legal, whatever their bus pins are.
TEST(LoomBuses, OddPinsOfTheImpliedBusAreOnlyRemarkedOn) {
  const auto half = read_small("[modules.M]\npins = { 1 = \"can-high\" }\n");
  EXPECT_TRUE(half.ok());
  EXPECT_EQ(error_codes(half), (std::vector<std::string>{"loom.half-seat"}));
  const auto twice = read_small("[modules.M]\npins = { 1 = \"can-high\", 2 = \"can-low\", 3 = \"can-high\" }\n");
  EXPECT_TRUE(twice.ok());
  EXPECT_EQ(error_codes(twice), (std::vector<std::string>{"loom.bus-twice"}));
  EXPECT_EQ(twice.diagnostics()[0].severity, base::Severity::kWarning);
}

// The role tells how many wires; only where that leaves a choice must the pin say more.
TEST(LoomBuses, APinIsOnTheOnlyBusOfAsManyWires) {
  const Loom loom = small_bus(
      "[buses.c]\n[buses.l]\nkind = \"lin\"\n[modules.M]\npins = { 1 = \"can-high\", 2 = { role = \"can-low\" }, 3 = "
      "\"bus-wire\" }\n");
  EXPECT_EQ(bus_of(loom, "M", "1"), "c");
  EXPECT_EQ(bus_of(loom, "M", "2"), "c");
  EXPECT_EQ(bus_of(loom, "M", "3"), "l");
}

TEST(LoomBuses, TheFixtureUsesEveryKeyOfThePage) {
  const std::string text = fixture_text();
  for (const TableKind kind : {TableKind::kBus, TableKind::kMessage})
    for (const LoomField& field : loom_table(kind).fields)
      EXPECT_NE(text.find(std::string(field.key) + " = "), std::string::npos) << field.key;
  for (const circuit::BusKindRecord& record : circuit::bus_kinds())
    EXPECT_NE(text.find("\"" + std::string(record.word) + "\""), std::string::npos) << record.word;
}

TEST(LoomBuses, NothingIsOddAboutTheFixture) {
  EXPECT_EQ(base::format_diagnostics(circuit::find_oddities(bus_fixture())), "");
}

}  // namespace
}  // namespace halfsplit::formats
