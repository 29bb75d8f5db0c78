// SPDX-License-Identifier: Apache-2.0
#include "formats/point_text.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "base/rng.h"
#include "circuit/netlist.h"
#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

circuit::Loom loom() {
  const auto read = read_loom_text("t", R"(
loom = 1
name = "t"
[connectors.J4]
sides = ["cab", "engine"]
pins = "1-12"
[splices.S5]
[studs.G1]
[parts.B7]
kind = "lamp"
watt = 5
[parts.L3]
kind = "lamp"
watt = 5
plug = false
[modules.BCM.pins]
"A:14" = "input"
[modules.TCU.pins]
14 = "input"
)");
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  return read.value();
}

TEST(PointText, ReadsAndWritesBack) {
  const circuit::Loom l = loom();
  const struct {
    const char *typed, *canonical;
  } points[] = {{"J4:12@cab", "J4:12@cab"},
                {"J4:12@engine", "J4:12@engine"},
                {" J4 : 12 @ cab ", "J4:12@cab"},
                {"BCM.A:14", "BCM.A:14"},
                {"BCM.A:14@loom", "BCM.A:14"},
                {"BCM.A:14@unit", "BCM.A:14@unit"},
                {"TCU:14", "TCU:14"},
                {"B7:1", "B7:1"},
                {"B7:2@unit", "B7:2@unit"},
                {"L3:2", "L3:2"},
                {"S5", "S5"},
                {"G1", "G1"},
                {"chassis", "chassis"}};
  for (const auto& point : points) {
    const auto read = read_point(l, point.typed);
    ASSERT_TRUE(read.ok()) << point.typed << base::format_diagnostics(read.diagnostics());
    EXPECT_EQ(format_end_point(l, read->end), point.canonical);
    EXPECT_TRUE(read->side_given) << point.typed;
  }
}

TEST(PointText, AnInlineCavityMayLeaveItsSideOut) {
  const circuit::Loom l = loom();
  const auto read = read_point(l, "J4:7");
  ASSERT_TRUE(read.ok());
  EXPECT_FALSE(read->side_given);
  EXPECT_EQ(read->end.side, 0U);
}

TEST(PointText, ProblemsNameTheNearest) {
  const circuit::Loom l = loom();
  const struct {
    const char *typed, *code, *hint;
  } points[] = {{"J5:12@cab", "point.unknown-point", ""},
                {"BMC.A:14", "point.unknown-point", "BCM"},
                {"BCM.B:14", "point.unknown-plug", "BCM.A"},
                {"BCM:14", "point.unknown-plug", "BCM.A"},
                {"J4.X:1", "point.unknown-plug", "J4:"},
                {"J4:13@cab", "point.unknown-cavity", "1"},
                {"B7:3", "point.unknown-cavity", "B7 has 1, 2"},
                {"L3:3", "point.unknown-cavity", "L3 has 1, 2"},
                {"J4:12@cap", "point.unknown-side", "cab and engine"},
                {"J4", "point.cavity-missing", "J4:1@cab"},
                {"L3", "point.cavity-missing", "L3:1"},
                {"L3:1@unit", "point.not-a-plug", "L3:1"},
                {"S5:1", "point.not-a-plug", "S5"},
                {"", "point.bad-point", "J4:12@cab"},
                {":12", "point.bad-point", "J4:12@cab"},
                {"J4:", "point.bad-point", "J4:12@cab"},
                {"J4:1@", "point.bad-point", "J4:12@cab"}};
  for (const auto& point : points) {
    const auto read = read_point(l, point.typed);
    ASSERT_FALSE(read.ok()) << point.typed;
    EXPECT_EQ(read.diagnostics().front().code, point.code) << point.typed;
    EXPECT_NE(read.diagnostics().front().hint.find(point.hint), std::string::npos)
        << point.typed << ": " << read.diagnostics().front().hint;
  }
}

// Every point of the flattened loom is read back under its own name.
TEST(PointText, EveryPointOfTheNetlistIsReadBack) {
  const circuit::Loom l = loom();
  const circuit::Netlist netlist = circuit::build_netlist(l);
  ASSERT_GT(netlist.points.size(), 8U);
  for (const circuit::Point& point : netlist.points) {
    const auto read = read_point(l, point.name);
    ASSERT_TRUE(read.ok()) << point.name;
    EXPECT_EQ(format_end_point(l, read->end), point.name);
  }
}

TEST(PointText, AnyTextProperty) {
  const std::uint64_t seed = 77;
  SCOPED_TRACE("seed " + std::to_string(seed));
  const circuit::Loom l = loom();
  base::Rng rng(seed);
  const std::string alphabet = "J4BCM.A:1@cab S5/loom";
  for (int round = 0; round < 5000; ++round) {
    std::string text;
    for (std::size_t n = rng.below(12); n > 0; --n) text += alphabet[rng.below(alphabet.size())];
    const auto read = read_point(l, text);
    if (read.ok()) {
      EXPECT_TRUE(read_point(l, format_end_point(l, read->end)).ok()) << text;
    } else {
      EXPECT_FALSE(read.diagnostics().front().message.empty());
    }
  }
}

}  // namespace
}  // namespace halfsplit::formats
