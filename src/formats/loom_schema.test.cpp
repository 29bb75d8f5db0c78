// SPDX-License-Identifier: Apache-2.0
// The committed documents are those the tables make, and the tables agree with the values and the reference page.
#include "formats/loom_schema.h"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>
#include <string>

#include "circuit/loom.h"
#include "formats/fault_tables.h"
#include "formats/loom_fields.h"
#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in.good()) << path << " (tests run in the root of the project)";
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(LoomSchema, CommittedCopyIsFresh) {
  EXPECT_TRUE(read_file("docs/formats/loom.schema.json") == loom_schema())
      << "make it again: halfsplit schema > docs/formats/loom.schema.json";
}

// What stands on the page between two markers.
std::string between(std::string_view begin, std::string_view end) {
  const std::string page = read_file("docs/formats/loom.md");
  const std::string first = std::string(begin) + "\n";
  const std::size_t from = page.find(first), to = page.find(end);
  if (from == std::string::npos || to == std::string::npos) return "no such markers";
  return page.substr(from + first.size(), to - from - first.size());
}

// Is there a row "| ... `key` ... | LOW to HIGH unit |" on the page?
bool page_limits(const std::string& page, const std::string& key, double low, double high) {
  const std::string number = R"((-?[0-9.]+(?:e-?[0-9]+)?))";
  const std::regex row(R"(\|([^|]*)\| )" + number + " to " + number + R"([^|]*\|)");
  std::istringstream lines(page);
  for (std::string line; std::getline(lines, line);) {
    std::erase(line, ',');
    std::smatch found;
    if (!std::regex_match(line, found, row) || found[1].str().find(key) == std::string::npos) continue;
    if (std::stod(found[2]) == low && std::stod(found[3]) == high) return true;
  }
  return false;
}

TEST(LoomSchema, ThePageTellsTheLimitsOfEveryNumber) {
  const std::string page = read_file("docs/formats/loom.md");
  for (const TableKind kind :
       {TableKind::kTop, TableKind::kDefaults, TableKind::kPlace, TableKind::kSetup, TableKind::kConnector,
        TableKind::kSplice, TableKind::kStud, TableKind::kFrame, TableKind::kPart, TableKind::kPlug, TableKind::kModule,
        TableKind::kPin, TableKind::kInside, TableKind::kWire, TableKind::kCode, TableKind::kLive})
    for (const LoomField& field : loom_table(kind).fields) {
      if (field.type != FieldType::kNumber) continue;
      const bool any_ohm = kind == TableKind::kDefaults && field.unit == base::Unit::kOhm;
      const std::string key = any_ohm ? "all ohms of `[defaults]`" : "`" + std::string(field.key) + "`";
      EXPECT_TRUE(page_limits(page, key, field.low, field.high))
          << loom_table(kind).name << " " << field.key << ": " << field.low << " to " << field.high;
    }
}

TEST(LoomSchema, TablesOfTheReferenceAreFresh) {
  EXPECT_EQ(between(kPartsTableBegin, kPartsTableEnd), part_kinds_markdown());
  EXPECT_EQ(between(kFaultTablesBegin, kFaultTablesEnd), fault_tables_markdown());
}

TEST(LoomSchema, IsJsonWhoseReferencesLeadSomewhere) {
  const nlohmann::json schema = nlohmann::json::parse(loom_schema());
  std::set<std::string> wanted;
  const std::string text = loom_schema();
  for (std::size_t at = 0; (at = text.find("#/$defs/", at)) != std::string::npos; ++at)
    wanted.insert(text.substr(at + 8, text.find('"', at) - at - 8));
  EXPECT_GT(wanted.size(), 25U);
  for (const std::string& name : wanted) EXPECT_TRUE(schema["$defs"].contains(name)) << name;
}

// Every key the reader knows is named on the reference page.
TEST(LoomFields, EveryKeyIsOnTheReferencePage) {
  const std::string page = read_file("docs/formats/loom.md") + read_file("docs/formats/buses.md");
  const auto expect_named = [&](const LoomTable& table) {
    for (const LoomField& field : table.fields) {
      const std::string key(field.key);
      const bool named = page.find("`" + key) != std::string::npos || page.find("[" + key) != std::string::npos ||
                         page.find(" " + key + " =") != std::string::npos || page.find(key + ",") != std::string::npos;
      EXPECT_TRUE(named) << table.name << "." << key;
    }
  };
  for (int kind = 0; kind <= static_cast<int>(TableKind::kMessage); ++kind)
    expect_named(loom_table(static_cast<TableKind>(kind)));
  for (const circuit::PartKindInfo& info : circuit::part_kinds()) expect_named(part_table(info.kind));
}

// A field's default lies within its limits, and a key stands once in its table.
TEST(LoomFields, RecordsAreSound) {
  const auto check = [](const LoomTable& table) {
    std::set<std::string_view> keys;
    for (const LoomField& field : table.fields) {
      EXPECT_TRUE(keys.insert(field.key).second) << table.name << "." << field.key;
      EXPECT_EQ(field.type == FieldType::kWord || field.type == FieldType::kWords, !field.words.empty()) << field.key;
      if (field.type != FieldType::kNumber) continue;
      EXPECT_LT(field.low, field.high) << table.name << "." << field.key;
      if (field.fallback == field.fallback) {
        EXPECT_GE(field.fallback, field.low) << table.name << "." << field.key;
        EXPECT_LE(field.fallback, field.high) << table.name << "." << field.key;
      }
    }
  };
  for (int kind = 0; kind <= static_cast<int>(TableKind::kMessage); ++kind)
    check(loom_table(static_cast<TableKind>(kind)));
  for (const circuit::PartKindInfo& info : circuit::part_kinds()) check(part_table(info.kind));
}

// The defaults of the tables are those of the values: a thing read from an empty table equals a fresh one.
TEST(LoomFields, DefaultsAgreeWithTheValues) {
  const auto read = read_loom_text("t", R"(
loom = 1
name = "t"
[places.p]
[setups.s]
[connectors.J]
sides = ["a", "b"]
[splices.S]
[studs.G]
[modules.M.pins]
1 = { role = "input" }
2 = { role = "reference" }
3 = { role = "high-side" }
[modules.N]
inside = [{ kind = "terminator", pins = ["1", "2"] }]
[modules.N.pins]
1 = "can-high"
2 = "can-low"
[codes.c]
module = "M"
supply_below_v = 5
[runs]
r = "S -> G"
)");
  ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  const circuit::Loom& loom = *read;
  const circuit::Loom fresh;
  EXPECT_EQ(loom.system_volts, fresh.system_volts);
  EXPECT_EQ(loom.ambient_c, fresh.ambient_c);
  EXPECT_EQ(loom.places[0].minutes, circuit::Place().minutes);
  EXPECT_EQ(loom.setups[0].do_minutes, circuit::Setup().do_minutes);
  EXPECT_EQ(loom.setups[0].leave, circuit::Setup().leave);
  const circuit::Connector connector;
  EXPECT_EQ(loom.connectors[0].unplug_minutes, connector.unplug_minutes);
  EXPECT_EQ(loom.connectors[0].plug_minutes, connector.plug_minutes);
  EXPECT_EQ(loom.connectors[0].backprobe, connector.backprobe);
  EXPECT_EQ(loom.connectors[0].pluggable, connector.pluggable);
  EXPECT_EQ(loom.connectors[0].rate, connector.rate);
  EXPECT_EQ(loom.splices[0].probe, circuit::Splice().probe);
  EXPECT_EQ(loom.modules[0].answers, circuit::Module().answers);
  const circuit::ModulePin pin;
  for (const circuit::ModulePin& read_pin : loom.modules[0].pins) {
    EXPECT_EQ(read_pin.pull_up_v, pin.pull_up_v);
    EXPECT_EQ(read_pin.volt, pin.volt);
    EXPECT_EQ(read_pin.ohm, pin.ohm);
    EXPECT_EQ(read_pin.input_ohm, pin.input_ohm);
    EXPECT_EQ(read_pin.follows_v, pin.follows_v);
    EXPECT_EQ(read_pin.limit_a, pin.limit_a);
  }
  EXPECT_EQ(loom.modules[1].inside[0].ohm, circuit::ModuleInside().ohm);
  EXPECT_EQ(loom.modules[1].inside[0].tolerance_percent, circuit::ModuleInside().tolerance_percent);
  EXPECT_EQ(loom.codes[0].chance, circuit::Code().chance);
  EXPECT_EQ(loom.wires[0].rate, circuit::Wire().rate);
  const LoomTable& table = loom_table(TableKind::kDefaults);
  const circuit::Defaults defaults;
  EXPECT_EQ(table.find("contact_ohm")->fallback, defaults.contact_ohm);
  EXPECT_EQ(table.find("stud_ohm")->fallback, defaults.stud_ohm);
  EXPECT_EQ(table.find("splice_ohm")->fallback, defaults.splice_ohm);
  EXPECT_EQ(table.find("wire_size_mm2")->fallback, defaults.wire_size_mm2);
  EXPECT_EQ(table.find("wire_length_m")->fallback, defaults.wire_length_m);
  EXPECT_EQ(table.find("input_ohm")->fallback, defaults.input_ohm);
  EXPECT_EQ(table.find("off_ohm")->fallback, defaults.off_ohm);
  EXPECT_EQ(table.find("return_ohm")->fallback, defaults.return_ohm);
  EXPECT_EQ(table.find("driver_ohm")->fallback, defaults.driver_ohm);
  EXPECT_EQ(table.find("reference_ohm")->fallback, defaults.reference_ohm);
  EXPECT_EQ(table.find("can_input_ohm")->fallback, defaults.can_input_ohm);
  EXPECT_EQ(loom_table(TableKind::kLive).find("percent")->fallback, circuit::Live().percent);
  EXPECT_EQ(loom_table(TableKind::kBus).find("dominant_percent")->fallback, circuit::Bus().dominant_percent);
}

}  // namespace
}  // namespace halfsplit::formats
