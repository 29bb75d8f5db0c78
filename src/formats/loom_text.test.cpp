// SPDX-License-Identifier: Apache-2.0
// A good loom that uses every feature (tests/data/looms/quillon.loom.toml) and small ones for the rules of
// docs/formats/loom.md, part 1.
#include "formats/loom_text.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "circuit/netlist.h"
#include "circuit/part_kinds.h"
#include "formats/loom_fields.h"
#include "formats/point_text.h"
#include "formats/toml_tree.h"

namespace halfsplit::formats {
namespace {

using circuit::Loom;

constexpr const char* kFixture = "tests/data/looms/quillon.loom.toml";

base::Result<std::string> read_source(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return base::make_error("file.missing", "there is no file " + path);
  return std::string(std::istreambuf_iterator<char>(in), {});
}

const Loom& fixture() {
  static const base::Result<Loom> read = read_loom(kFixture, read_source);
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_TRUE(read.diagnostics().empty()) << base::format_diagnostics(read.diagnostics());
  return read.value();
}

template <class List>
auto find_named(const List& list, const std::string& name) -> const typename List::value_type& {
  const auto found = std::find_if(list.begin(), list.end(), [&](const auto& item) { return item.name == name; });
  EXPECT_NE(found, list.end()) << name;
  static const typename List::value_type none;
  return found == list.end() ? none : *found;
}

Loom small(const std::string& text) {
  base::Result<Loom> read = read_loom_text("t", "loom = 1\nname = \"t\"\n" + text);
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  return read.ok() ? std::move(read).value() : Loom();
}

std::vector<std::string> setup_names(const Loom& loom, const std::vector<circuit::SetupId>& ids) {
  std::vector<std::string> names;
  for (const circuit::SetupId id : ids) names.push_back(loom.setups.at(id.index()).name);
  return names;
}

// "from -> to" of a wire.
std::string ends(const Loom& loom, const std::string& wire) {
  const circuit::Wire& w = find_named(loom.wires, wire);
  return format_end_point(loom, w.from) + " -> " + format_end_point(loom, w.to);
}

TEST(LoomText, TopAndDefaults) {
  const Loom& loom = fixture();
  EXPECT_EQ(loom.vehicle, "Quillon B18 (invented)");
  EXPECT_EQ(loom.system_volts, 24.0);
  EXPECT_EQ(setup_names(loom, loom.in_use), (std::vector<std::string>{"isolator-on", "key-on", "engine-running"}));
  EXPECT_EQ(loom.parts.at(loom.supply.index()).name, "B1");
  EXPECT_DOUBLE_EQ(loom.defaults.contact_ohm, 0.004);
  EXPECT_DOUBLE_EQ(loom.defaults.wire_length_m, 2.5);
  EXPECT_DOUBLE_EQ(loom.defaults.off_ohm, 1.0e4);
  EXPECT_EQ(loom.sources, (std::vector<std::string>{kFixture, "tests/data/looms/quillon/tail-lift.loom.toml"}));
}

TEST(LoomText, PlacesAndSetups) {
  const Loom& loom = fixture();
  const circuit::Place& gearbox = find_named(loom.places, "gearbox-top");
  EXPECT_EQ(gearbox.minutes, 4.0);
  EXPECT_EQ(setup_names(loom, gearbox.needs), (std::vector<std::string>{"cab-raised"}));
  EXPECT_EQ(gearbox.stress,
            (std::vector<circuit::Stress>{circuit::Stress::kHeat, circuit::Stress::kWet, circuit::Stress::kFlex}));
  EXPECT_EQ(gearbox.caution, "hot parts; let it cool");
  EXPECT_EQ(gearbox.where.source_line, "[places.gearbox-top]");
  EXPECT_EQ(gearbox.where.column, 9U);
  const circuit::Setup& lights = find_named(loom.setups, "lights-on");
  EXPECT_EQ(setup_names(loom, lights.needs), (std::vector<std::string>{"key-on"}));
  ASSERT_EQ(lights.sets.size(), 1U);
  EXPECT_EQ(loom.parts.at(lights.sets[0].first.index()).name, "S3");
  EXPECT_TRUE(lights.sets[0].second);
  EXPECT_TRUE(lights.leave);
  EXPECT_DOUBLE_EQ(find_named(loom.setups, "brake-applied").do_minutes, 10.0 / 60.0);
  // What one excludes excludes it in turn.
  EXPECT_EQ(setup_names(loom, find_named(loom.setups, "cab-raised").excludes),
            (std::vector<std::string>{"engine-running"}));
}

TEST(LoomText, Connectors) {
  const Loom& loom = fixture();
  const circuit::Connector& j4 = find_named(loom.connectors, "J4");
  EXPECT_EQ(j4.sides[0], "cab");
  EXPECT_EQ(j4.sides[1], "chassis");
  EXPECT_EQ(loom.places.at(j4.place[0].index()).name, "under-dash");
  EXPECT_EQ(loom.places.at(j4.place[1].index()).name, "chassis-left");
  ASSERT_EQ(j4.rows.size(), 2U);
  EXPECT_EQ(j4.rows[1].back(), "12");
  EXPECT_FALSE(j4.backprobe);
  EXPECT_DOUBLE_EQ(*j4.contact_ohm, 0.004);
  EXPECT_DOUBLE_EQ(*j4.part_money, 38.5);
  EXPECT_EQ(find_named(loom.connectors, "J7").rows.front(), (std::vector<std::string>{"1", "2", "3", "4", "A", "B"}));
  EXPECT_EQ(find_named(loom.connectors, "JB").hazard, circuit::Hazard::kAirbag);
  // Cavities found by use.
  EXPECT_EQ(find_named(loom.connectors, "gearbox plug").rows.front(), (std::vector<std::string>{"1", "2"}));
}

TEST(LoomText, CavitiesFoundByUseAreInNaturalOrder) {
  const Loom loom = small(
      "[connectors.J]\nsides = [\"a\", \"b\"]\n[runs]\nr = [\"chassis -> J:10 -> chassis\", \"chassis "
      "-> J:2 -> chassis\", \"chassis -> J:A1 -> chassis\"]\n");
  EXPECT_EQ(loom.connectors[0].rows, (std::vector<std::vector<std::string>>{{"2", "10", "A1"}}));
}

TEST(LoomText, PartsAndTheirPlugs) {
  const Loom& loom = fixture();
  const circuit::Part& k1 = find_named(loom.parts, "K1");
  ASSERT_FALSE(k1.plug.is_none());
  const circuit::Connector& socket = loom.connectors.at(k1.plug.index());
  EXPECT_EQ(socket.name, "K1");
  EXPECT_EQ(socket.sides[0], "loom");
  EXPECT_EQ(socket.sides[1], "unit");
  EXPECT_EQ(socket.rows, (std::vector<std::vector<std::string>>{{"30", "85"}, {"87", "86"}}));
  EXPECT_DOUBLE_EQ(socket.unplug_minutes, 0.2);
  EXPECT_FALSE(socket.backprobe);
  EXPECT_TRUE(find_named(loom.parts, "S1").plug.is_none());  // plug = false
  EXPECT_TRUE(find_named(loom.parts, "B1").plug.is_none());  // no plug by the kind
  EXPECT_EQ(loom.connectors.at(find_named(loom.parts, "F1").plug.index()).rows.front(),
            (std::vector<std::string>{"1", "2"}));
  EXPECT_TRUE(find_named(loom.parts, "S4").normally_closed);
  EXPECT_FALSE(find_named(loom.parts, "fog switch").normally_closed);
  EXPECT_TRUE(find_named(loom.parts, "L2").led);
  EXPECT_EQ(find_named(loom.parts, "RT2").curve.points.size(), 3U);
  EXPECT_EQ(setup_names(loom, find_named(loom.parts, "ALT").runs_with), (std::vector<std::string>{"engine-running"}));
}

TEST(LoomText, OhmsOfACurveMayBeTextWithAUnit) {
  const base::Result<Loom> read = read_loom_text(
      "t",
      "loom = 1\nname = \"t\"\n[parts.RT]\nkind = \"ptc\"\ncurve = [[0, \"1k\"], [100, \"1.385 kohm\"]]\nat = 55\n");
  ASSERT_TRUE(read) << base::format_diagnostics(read.diagnostics());
  const std::vector<std::pair<double, double>>& points = find_named(read->parts, "RT").curve.points;
  EXPECT_DOUBLE_EQ(points.at(0).second, 1000.0);
  EXPECT_DOUBLE_EQ(points.at(1).second, 1385.0);
}

// Worked-out values: docs/formats/loom.md, [parts.NAME].
TEST(LoomText, WorkedOutValues) {
  const Loom& loom = fixture();
  const auto value = [&](const char* part, const char* field) {
    return circuit::part_value(find_named(loom.parts, part), field);
  };
  EXPECT_DOUBLE_EQ(value("F1", "ohm"), 0.1 / 10.0);
  EXPECT_DOUBLE_EQ(value("F2", "ohm"), 0.02);
  EXPECT_DOUBLE_EQ(value("K1", "pull_in_v"), 16.0);
  EXPECT_DOUBLE_EQ(value("K1", "drop_out_v"), 0.2 * 24.0);
  EXPECT_DOUBLE_EQ(value("L1", "volt"), 24.0);
  EXPECT_DOUBLE_EQ(value("B1", "volt"), 1.05 * 24.0);
  EXPECT_DOUBLE_EQ(value("B1", "ohm"), 0.012);
  EXPECT_DOUBLE_EQ(value("ALT", "volt"), 28.2);
  EXPECT_DOUBLE_EQ(value("M1", "ohm"), 24.0 * 24.0 / 120.0);
  EXPECT_DOUBLE_EQ(value("Y1", "ohm"), 38.0);
  EXPECT_DOUBLE_EQ(value("Y1", "watt"), 24.0 * 24.0 / 38.0);
  EXPECT_DOUBLE_EQ(value("R9", "ohm"), 120.0);
  const Loom twelve =
      small("system_volts = 12\n[parts.A]\nkind = \"alternator\"\n[parts.K]\nkind = \"relay\"\ncoil_ohm = 90\n");
  EXPECT_DOUBLE_EQ(circuit::part_value(twelve.parts[0], "volt"), 1.18 * 12.0);
  EXPECT_DOUBLE_EQ(circuit::part_value(twelve.parts[1], "pull_in_v"), 0.67 * 12.0);
  for (const circuit::Part& part : loom.parts)
    EXPECT_EQ(part.values.size(), circuit::part_kind(part.kind).fields.size()) << part.name;
}

TEST(LoomText, Modules) {
  const Loom& loom = fixture();
  const circuit::Module& bcm = find_named(loom.modules, "BCM");
  EXPECT_EQ(bcm.alive_above_v, 9.0);
  EXPECT_EQ(loom.frames.at(bcm.frame.index()).name, "cab");
  const auto pin = [&](const std::string& plug, const std::string& cavity) {
    for (const circuit::ModulePin& p : bcm.pins)
      if (p.plug == plug && p.cavity == cavity) return p;
    ADD_FAILURE() << plug << ":" << cavity;
    return circuit::ModulePin();
  };
  EXPECT_DOUBLE_EQ(pin("A", "1").draw_a, 0.4);
  EXPECT_EQ(pin("A", "2").role, circuit::PinRole::kGround);
  EXPECT_DOUBLE_EQ(pin("A", "14").pull_up_ohm, 2200.0);
  EXPECT_EQ(loom.connectors.at(pin("A", "14").connector.index()).name, "BCM.A");
  EXPECT_EQ(pin("B", "2").follows, "A:7");
  EXPECT_EQ(pin("B", "1").limit_a, 10.0);
  EXPECT_EQ(find_named(loom.connectors, "BCM.A").rows.front().size(), 24U);  // declared
  EXPECT_EQ(find_named(loom.connectors, "LIFT").rows.front(),
            (std::vector<std::string>{"1", "2", "5"}));  // from its pins
  const circuit::Module& display = find_named(loom.modules, "DISPLAY");
  ASSERT_EQ(display.inside.size(), 2U);
  EXPECT_EQ(display.inside[1].kind, circuit::PartKind::kResistor);
  EXPECT_EQ(display.pins.at(display.inside[1].pin_b).cavity, "3");
  EXPECT_FALSE(display.answers);
  EXPECT_DOUBLE_EQ(display.alive_above_v, 0.625 * 24.0);
}

TEST(LoomText, AModuleThatSaysNothingGetsItsPinsFromTheWires) {
  const Loom& loom = fixture();
  const circuit::Module& tacho = find_named(loom.modules, "TACHO");
  ASSERT_EQ(tacho.pins.size(), 1U);
  EXPECT_EQ(tacho.pins[0].plug, "X");
  EXPECT_EQ(tacho.pins[0].cavity, "A3");
  EXPECT_EQ(tacho.pins[0].role, circuit::PinRole::kUnknown);
  EXPECT_EQ(loom.connectors.at(tacho.pins[0].connector.index()).name, "TACHO.X");
}

TEST(LoomText, AWireAtAnUndeclaredPinIsTakenWithAWarning) {
  const auto read = read_loom_text("t",
                                   "loom = 1\nname = \"t\"\n[modules.M.pins]\n\"A:1\" = \"ground\"\n[runs]\nr = "
                                   "\"chassis -> M.A:7\"\n");
  ASSERT_TRUE(read.ok());
  ASSERT_EQ(read.diagnostics().size(), 1U);
  EXPECT_EQ(read.diagnostics()[0].code, "loom.undeclared-pin");
  EXPECT_EQ(read.diagnostics()[0].severity, base::Severity::kWarning);
  EXPECT_EQ(read.diagnostics()[0].where.line, 6U);
  EXPECT_EQ(read.diagnostics()[0].where.column, 17U);
  EXPECT_EQ(read->modules[0].pins.size(), 2U);
}

TEST(LoomText, RunsMakeWiresHopByHop) {
  const Loom& loom = fixture();
  EXPECT_EQ(ends(loom, "battery.1"), "B1:+ -> F0:1");
  EXPECT_EQ(ends(loom, "battery.2"), "F0:2 -> S1:1");       // through a fuse
  EXPECT_EQ(ends(loom, "charging.2"), "ALT:- -> chassis");  // numbers go on through a list
  EXPECT_EQ(ends(loom, "relay-feed.3"), "K1:87 -> L1:1");   // a relay: in at 30, out at 87
  EXPECT_EQ(ends(loom, "relay-feed.2"), "F2:2 -> K1:30");
  EXPECT_EQ(ends(loom, "oil-temperature.1"), "BCM.A:14 -> J4:12@cab");
  EXPECT_EQ(ends(loom, "oil-temperature.2"), "J4:12@chassis -> gearbox plug:1@chassis");
  EXPECT_EQ(ends(loom, "oil-temperature.4"), "RT1:2 -> gearbox plug:2@gearbox");
  EXPECT_EQ(ends(loom, "oil-temperature.5"), "gearbox plug:2@chassis -> J4:11@chassis");  // comes in on the other side
  EXPECT_EQ(ends(loom, "oil-temperature.6"), "J4:11@cab -> S13");
  EXPECT_EQ(ends(loom, "coil-diode.2"), "D1:K -> S12");
  EXPECT_EQ(ends(loom, "pot.3"), "RP:3 -> G2");  // a part alone as first hop: its second terminal
  EXPECT_EQ(ends(loom, "roof-ground-wire"), "L1:2 -> G2");
  EXPECT_EQ(ends(loom, "pump-feed"), "BCM.B:3 -> J7:A@chassis");
}

TEST(LoomText, WiresKeepWhatTheirAttributesSay) {
  const Loom& loom = fixture();
  const circuit::Wire& w = find_named(loom.wires, "oil-temperature.2");
  EXPECT_EQ(w.colour, "YE");
  EXPECT_DOUBLE_EQ(*w.size_mm2, 0.5);
  EXPECT_DOUBLE_EQ(*w.length_m, 6.0);
  EXPECT_EQ(loom.places.at(w.place.index()).name, "chassis-left");
  EXPECT_EQ(w.where.source_line.substr(w.where.column - 1, 4), "-[YE");
  EXPECT_DOUBLE_EQ(*find_named(loom.wires, "cab-strap.1").ohm, 0.0005);
  EXPECT_EQ(find_named(loom.wires, "relay-feed.3").colour, "WH/RD");
  EXPECT_EQ(find_named(loom.wires, "relay-feed.3").bundle, "roof");
  EXPECT_EQ(find_named(loom.wires, "can-high.1").pair, "body-can");
  EXPECT_EQ(find_named(loom.wires, "valve.2").hazard, circuit::Hazard::kBrakes);
  EXPECT_DOUBLE_EQ(find_named(loom.wires, "tacho.1").rate, 0.5);
  EXPECT_NEAR(*find_named(loom.wires, "lights.1").size_mm2, 2.081, 0.001);  // AWG14
  const circuit::Wire& feed = find_named(loom.wires, "pump-feed");
  EXPECT_EQ(feed.bundle, "left rail");
  EXPECT_EQ(feed.hazard, circuit::Hazard::kSteering);
  EXPECT_DOUBLE_EQ(*feed.repair_minutes, 30.0);
}

TEST(LoomText, BothTerminalsOfAPartMayBeNamed) {
  const Loom loom = small(
      "[parts.K1]\nkind = \"relay\"\ncoil_ohm = 300\n[splices.S]\n[parts.B]\nkind = \"battery\"\n"
      "[runs]\na = \"S -> K1:86/85 -> chassis\"\nb = \"S -> B:+ -> K1:30\"\n");
  EXPECT_EQ(ends(loom, "a.1"), "S -> K1:86");
  EXPECT_EQ(ends(loom, "a.2"), "K1:85 -> chassis");
  EXPECT_EQ(ends(loom, "b.2"), "B:+ -> K1:30");  // a bolted terminal is touched
}

TEST(LoomText, CodesAndLiveValues) {
  const Loom& loom = fixture();
  const circuit::Code& high = find_named(loom.codes, "SPN 177 FMI 3");
  EXPECT_EQ(high.monitor, circuit::Code::Monitor::kPinAbove);
  EXPECT_DOUBLE_EQ(high.threshold, 4.95);
  EXPECT_EQ(loom.modules.at(high.module.index()).pins.at(high.pin).cavity, "14");
  EXPECT_DOUBLE_EQ(find_named(loom.codes, "SPN 177 FMI 4").chance, 0.9);
  EXPECT_EQ(find_named(loom.codes, "BCM 12 open load").monitor, circuit::Code::Monitor::kDriverOpen);
  EXPECT_EQ(find_named(loom.codes, "BCM 13 overload").monitor, circuit::Code::Monitor::kDriverOver);
  EXPECT_EQ(find_named(loom.codes, "SPN 168 FMI 18").monitor, circuit::Code::Monitor::kSupplyBelow);
  EXPECT_EQ(find_named(loom.codes, "SPN 168 FMI 16").monitor, circuit::Code::Monitor::kSupplyAbove);
  const circuit::Code& lost = find_named(loom.codes, "display lost");
  EXPECT_EQ(lost.monitor, circuit::Code::Monitor::kLost);
  EXPECT_EQ(loom.modules.at(lost.lost.index()).name, "DISPLAY");
  const circuit::Live& live = loom.lives.at(0);
  EXPECT_EQ(loom.parts.at(live.part.index()).name, "RT1");
  EXPECT_DOUBLE_EQ(live.high, 150.0);
  EXPECT_DOUBLE_EQ(live.percent, 2.0);
}

TEST(LoomText, FramesStudsAndTheImplicitChassis) {
  EXPECT_EQ(fixture().frames.size(), 2U);
  const Loom loom = small("[studs.G1]\n");
  ASSERT_EQ(loom.frames.size(), 1U);
  EXPECT_EQ(loom.frames[0].name, "chassis");
  EXPECT_EQ(loom.studs[0].frame, circuit::FrameId(0));
}

TEST(LoomText, TheNamedFileHasTheLastWordOnSupplyAndUse) {
  const auto read = read_loom("a", [](const std::string& path) -> base::Result<std::string> {
    if (path == "a")
      return std::string("loom = 1\nname = \"t\"\ninclude = [\"b\"]\nsupply = \"B2\"\nin_use = [\"y\"]\n[setups.y]\n");
    return std::string(
        "supply = \"B1\"\nin_use = [\"x\"]\n[setups.x]\n[parts.B1]\nkind = \"battery\"\n[parts.B2]\nkind = "
        "\"battery\"\n");
  });
  ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_EQ(read->parts.at(read->supply.index()).name, "B2");
  EXPECT_EQ(setup_names(*read, read->in_use), (std::vector<std::string>{"y"}));
}

TEST(LoomText, TheNamedFileHasTheLastWord) {
  const auto read = read_loom("a", [](const std::string& path) -> base::Result<std::string> {
    if (path == "a")
      return std::string("loom = 1\nname = \"outer\"\ninclude = [\"b\", \"c\"]\n[defaults]\nstud_ohm = 2\n");
    if (path == "b")
      return std::string(
          "name = \"b\"\nvehicle = \"from b\"\nsystem_volts = 12\n[splices.S1]\n[defaults]\nstud_ohm = 3\nsplice_ohm = "
          "4\n");
    return std::string("vehicle = \"from c\"\ninclude = [\"b\"]\n[splices.S2]\n");
  });
  ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_EQ(read->name, "outer");
  EXPECT_EQ(read->vehicle, "from c");
  EXPECT_EQ(read->system_volts, 12.0);
  EXPECT_EQ(read->defaults.stud_ohm, 2.0);
  EXPECT_EQ(read->defaults.splice_ohm, 4.0);
  EXPECT_EQ(read->splices.size(), 2U);  // b is read once
  EXPECT_EQ(read->sources, (std::vector<std::string>{"a", "b", "c"}));
}

// The fixture leaves no key of the tables unused, so that a key that stops being read is seen by the tests above.
TEST(LoomText, TheFixtureUsesEveryKey) {
  std::string text;
  for (const std::string& file : fixture().sources) text += read_source(file).value();
  text += read_source("tests/data/looms/orrin.loom.toml").value();  // buses
  const auto expect_used = [&](const LoomTable& table) {
    for (const LoomField& field : table.fields) {
      const std::string key(field.key);
      EXPECT_TRUE(text.find(key + " = ") != std::string::npos || text.find("[" + key) != std::string::npos ||
                  text.find("." + key + "]") != std::string::npos)
          << table.name << "." << key;
    }
  };
  for (int kind = 0; kind <= static_cast<int>(TableKind::kMessage); ++kind)
    expect_used(loom_table(static_cast<TableKind>(kind)));
  for (const circuit::PartKindInfo& info : circuit::part_kinds())
    EXPECT_NE(text.find("kind = \"" + std::string(info.word) + "\""), std::string::npos) << info.word;
}

TEST(LoomText, CanBeFlattened) { EXPECT_GT(circuit::build_netlist(fixture()).elements.size(), 150U); }

// 3,000 wires are to read in well under 100 ms (release); generous here, for unoptimised and sanitized builds.
TEST(LoomText, ThreeThousandWiresReadQuickly) {
  std::string text = "loom = 1\nname = \"big\"\n[places.p]\n";
  for (int i = 0; i < 60; ++i)
    text += "[connectors.J" + std::to_string(i) + "]\nsides = [\"a\", \"b\"]\npins = \"1-50\"\nplace = \"p\"\n";
  text += "[runs]\n";
  for (int i = 0; i < 1500; ++i)
    text += "r" + std::to_string(i) + " = \"chassis -[RD/WH 0.5mm2 2.1m bundle=b" + std::to_string(i % 7) + "]-> J" +
            std::to_string(i / 50) + ":" + std::to_string(i % 50 + 1) + " -[RD 0.5mm2 3m]-> chassis\"\n";
  const auto begin = std::chrono::steady_clock::now();
  const auto read = read_loom_text("t", text);
  const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - begin;
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(read->wires.size(), 3000U);
  EXPECT_LT(took.count(), 2000.0);
  RecordProperty("milliseconds", static_cast<int>(took.count()));
}

}  // namespace
}  // namespace halfsplit::formats
