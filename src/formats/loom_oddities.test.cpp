// SPDX-License-Identifier: Apache-2.0
// circuit/oddities.h, tested on looms as they are written. Each text is odd in one way and says so once, in its place
// (marked ^); the fixture is odd in none.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "circuit/oddities.h"
#include "circuit/oddity_checks.h"
#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

struct OddLoom {
  std::string code;
  std::string text;
};

// A battery, a lamp with its switch and fuse: nothing odd.
const char* const kLampCircuit = R"(
[parts.B]
kind = "battery"
[setups.on]
sets = { S = "closed" }
[parts.S]
kind = "switch"
[parts.F]
kind = "fuse"
rating_a = 5
[parts.L]
kind = "lamp"
watt = 21
[runs]
minus = "B:- -[10mm2]-> chassis"
plus = "B:+ -[1mm2]-> F -[1mm2]-> S -[1mm2]-> L -[1mm2]-> chassis"
)";

std::vector<base::Diagnostic> oddities_of(const std::string& text) {
  const auto read = read_loom_text("t", text);
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  return read.ok() ? circuit::find_oddities(*read) : std::vector<base::Diagnostic>();
}

const std::vector<OddLoom>& odd_looms() {
  static const std::vector<OddLoom> looms{
      {"odd.cavity-used-twice",
       "[connectors.J]\nsides = [\"a\", \"b\"]\n[runs]\na = \"chassis ^-[1mm2]-> J:1 -[1mm2]-> "
       "chassis\"\nb = \"chassis -[1mm2]-> J:1@a\"\n"},
      {"odd.dead-end", "[connectors.J]\nsides = [\"a\", \"b\"]\n[runs]\na = \"chassis ^-[1mm2]-> J:1\"\n"},
      {"odd.dead-end", "[splices.S]\n[runs]\na = \"chassis ^-[1mm2]-> S\"\n"},
      {"odd.wire-without-size", "[splices.S]\n[runs]\na = \"chassis ^-[2m]-> S -[1mm2]-> chassis\"\n"},
      {"odd.unused-connector", "[connectors.^J]\nsides = [\"a\", \"b\"]\npins = \"1\"\n"},
      {"odd.unused-part", "[parts.^R]\nkind = \"resistor\"\nohm = 5\n"},
      {"odd.unused-splice", "[splices.^S]\n"},
      {"odd.unused-stud", "[studs.^G]\n"},
      {"odd.unused-place", "[places.^p]\n"},
      {"odd.unused-setup", "[setups.^s]\n"},
      {"odd.no-ground",
       std::string(kLampCircuit) + "extra = \"B:+ -[1mm2]-> L2:1\"\n[parts.^L2]\nkind = \"lamp\"\nwatt = 5\n"},
      {"odd.no-supply",
       std::string(kLampCircuit) +
           "extra = \"chassis -[1mm2]-> L2 -[1mm2]-> chassis\"\n[parts.^L2]\nkind = \"lamp\"\nwatt = 5\n"},
      {"odd.battery-not-grounded",
       "[parts.^B]\nkind = \"battery\"\n[parts.L]\nkind = \"lamp\"\nwatt = 5\n[runs]\na = "
       "\"B:+ -[1mm2]-> L -[1mm2]-> chassis\"\n"},
      {"odd.fuse-above-wire",
       "[parts.F]\nkind = \"fuse\"\nrating_a = 20\n[runs]\na = \"chassis -[0.5mm2]-> F ^-[0.75mm2]-> chassis\"\n"},
      {"odd.module-without-ground",
       "[setups.k]\n[modules.^M]\npowered_with = [\"k\"]\n[modules.M.pins]\n1 = \"input\"\n"
       "[runs]\na = \"M:1 -[1mm2]-> chassis\"\n"},
      {"odd.driver-never-on",
       "[modules.M]\nframe = \"chassis\"\n[modules.M.pins]\n^1 = \"low-side\"\n[runs]\na = \"M:1 "
       "-[1mm2]-> chassis\"\n"},
      {"odd.switch-never-moved",
       "[parts.^S]\nkind = \"switch\"\n[runs]\na = \"chassis -[1mm2]-> S -[1mm2]-> chassis\"\n"},
      {"odd.unreachable-place",
       "[setups.a]\nexcludes = [\"b\"]\n[setups.b]\n[places.^p]\nneeds = [\"a\", \"b\"]\n[splices.S]\nplace = "
       "\"p\"\n[runs]\nr = \"chassis -[1mm2]-> S -[1mm2]-> chassis\"\n"},
      {"odd.impossible-setup",
       "[setups.a]\nsets = { S = \"open\" }\n[setups.^b]\nneeds = [\"a\"]\nsets = { S = \"closed\" }\n"
       "[parts.S]\nkind = \"switch\"\n[runs]\na = \"chassis -[1mm2]-> S -[1mm2]-> chassis\"\n"},
      {"odd.at-outside-curve",
       "[parts.^R]\nkind = \"sender\"\ncurve = [[0, 10], [10, 90]]\nat = 11\n[runs]\na = \"chassis -[1mm2]-> R "
       "-[1mm2]-> chassis\"\n"},
      {"odd.curve-turns",
       "[parts.^R]\nkind = \"sender\"\ncurve = [[0, 10], [5, 50], [10, 40]]\nat = 1\n[runs]\na = \"chassis -[1mm2]-> R "
       "-[1mm2]-> chassis\"\n"},
      {"odd.curve-leaves-window",
       "[parts.R]\nkind = \"sender\"\ncurve = [[0, 10], [100, 2000]]\nat = 1\n[modules.M]\nframe = \"chassis\"\n"
       "[modules.M.pins]\n1 = { role = \"input\", pull_up_ohm = 330 }\n[codes.^x]\nmodule = \"M\"\npin = "
       "\"1\"\nabove_v = 4\n"
       "[runs]\na = \"M:1 -[1mm2]-> R -[1mm2]-> chassis\"\n"},
      {"odd.never-together",
       "[setups.a]\nexcludes = [\"b\"]\n[setups.b]\n[modules.M]\nframe = \"chassis\"\n[modules.M.pins]\n^1 = { role = "
       "\"low-side\", on_with = [\"a\", \"b\"] }\n[runs]\nr = \"M:1 -[1mm2]-> chassis\"\n"},
  };
  return looms;
}

TEST(Oddities, EachIsSeenOnceInItsPlace) {
  for (const OddLoom& odd : odd_looms()) {
    std::string text = "loom = 1\nname = \"t\"\n" + odd.text;
    const std::size_t mark = text.find('^');
    ASSERT_NE(mark, std::string::npos);
    text.erase(mark, 1);
    SCOPED_TRACE(text);
    const auto found = oddities_of(text);
    ASSERT_EQ(found.size(), 1U) << base::format_diagnostics(found);
    const auto hit = found.begin();
    EXPECT_EQ(hit->code, odd.code);
    EXPECT_EQ(hit->where.line,
              1U + static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<long>(mark), '\n')));
    EXPECT_EQ(hit->where.column, mark - text.rfind('\n', mark - 1));
    EXPECT_NE(hit->severity, base::Severity::kError);
    EXPECT_FALSE(hit->hint.empty());
  }
}

TEST(Oddities, AnOrdinaryCircuitHasNone) {
  EXPECT_EQ(base::format_diagnostics(oddities_of("loom = 1\nname = \"t\"\n" + std::string(kLampCircuit))), "");
}

TEST(Oddities, TheFixtureHasNone) {
  const auto read =
      read_loom("tests/data/looms/quillon.loom.toml", [](const std::string& path) -> base::Result<std::string> {
        std::ifstream in(path, std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(in), {});
      });
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(base::format_diagnostics(circuit::find_oddities(*read)), "");
}

// Two lamps in series, and a motor that two change-over relays turn both ways: every way counts.
TEST(Oddities, LoadsInSeriesAndBothWaysAreFine) {
  const std::string series =
      "loom = 1\nname = \"t\"\n[parts.B]\nkind = \"battery\"\n[parts.L1]\nkind = \"lamp\"\nwatt = "
      "5\n[parts.L2]\nkind = \"lamp\"\nwatt = 5\n[runs]\na = \"B:+ -[1mm2]-> L1 -[1mm2]-> L2 "
      "-[1mm2]-> chassis\"\nb = \"B:- -[1mm2]-> chassis\"\n";
  EXPECT_EQ(base::format_diagnostics(oddities_of(series)), "");
  const std::string both_ways =
      "loom = 1\nname = \"t\"\n[parts.B]\nkind = \"battery\"\n[parts.M]\nkind = \"motor\"\nohm = 2\n"
      "[parts.K1]\nkind = \"relay\"\ncoil_ohm = 90\n[parts.K2]\nkind = \"relay\"\ncoil_ohm = "
      "90\n[splices.P]\n[splices.N]\n[splices.C]\n[runs]\n"
      "p = [\"B:+ -[1mm2]-> P -[1mm2]-> K1:87\", \"P -[1mm2]-> K2:87\", \"P -[1mm2]-> C\", \"C -[1mm2]-> K1:86\", \"C "
      "-[1mm2]-> K2:86\"]\n"
      "n = [\"B:- -[1mm2]-> chassis\", \"chassis -[1mm2]-> N -[1mm2]-> K1:87a\", \"N -[1mm2]-> K2:87a\", \"K1:85 "
      "-[1mm2]-> chassis\", \"K2:85 -[1mm2]-> chassis\"]\n"
      "m = \"K1:30 -[1mm2]-> M -[1mm2]-> K2:30\"\n";
  EXPECT_EQ(base::format_diagnostics(oddities_of(both_ways)), "");
}

// A diode lets current through one way: a lamp behind one that points backwards has no supply, and a free-wheel diode
// from ground to a coil does not join the coil's feed to ground.
TEST(Oddities, DiodesCountOneWay) {
  const std::string head =
      "loom = 1\nname = \"t\"\n[parts.B]\nkind = \"battery\"\n[parts.D]\nkind = \"diode\"\n"
      "[parts.L]\nkind = \"lamp\"\nwatt = 5\n[runs]\nm = \"B:- -[1mm2]-> chassis\"\n";
  const std::string forwards = "p = [\"B:+ -[1mm2]-> D -[1mm2]-> L -[1mm2]-> chassis\"]\n";
  const std::string backwards = "p = [\"B:+ -[1mm2]-> D:K/A -[1mm2]-> L -[1mm2]-> chassis\"]\n";
  EXPECT_EQ(base::format_diagnostics(oddities_of(head + forwards)), "");
  const auto found = oddities_of(head + backwards);
  ASSERT_EQ(found.size(), 1U) << base::format_diagnostics(found);
  EXPECT_EQ(found.front().code, "odd.no-supply");
}

// 330 ohm to 5 V over 1,000 ohm with 1,000 ohm beside it: 5 x 500 / 830 = 3.01 V; without the second, 3.76 V.
TEST(Oddities, ThePullDownCountsInTheWindow) {
  const auto codes_of = [](const std::string& pull_down) {
    return oddities_of(
        "loom = 1\nname = \"t\"\n[parts.R]\nkind = \"sender\"\ncurve = [[0, 800], [100, 1000]]\nat = 1\n"
        "[modules.M]\nframe = \"chassis\"\n[modules.M.pins]\n1 = { role = \"input\", pull_up_ohm = 330" +
        pull_down +
        " }\n[codes.x]\nmodule = \"M\"\npin = \"1\"\nabove_v = 3.3\n[runs]\na = \"M:1 -[1mm2]-> R -[1mm2]-> "
        "chassis\"\n");
  };
  EXPECT_EQ(codes_of("").size(), 1U);
  EXPECT_EQ(codes_of(", pull_down_ohm = 1000").size(), 0U);
}

TEST(Oddities, AFloodIsFolded) {
  std::string text = "loom = 1\nname = \"t\"\n";
  for (int i = 0; i < 100; ++i) text += "[splices.S" + std::to_string(i) + "]\n";
  const auto found = oddities_of(text);
  EXPECT_EQ(found.size(), 21U);
  EXPECT_EQ(found.back().message, "and 80 more of these");
}

// Common practice, from memory; the order is what matters: a thicker wire never carries less.
TEST(Oddities, FuseTableRises) {
  double before = 0.0;
  for (double size = 0.1; size < 130.0; size *= 1.1) {
    EXPECT_GE(circuit::most_fuse_a(size), before) << size;
    before = circuit::most_fuse_a(size);
  }
  EXPECT_EQ(circuit::most_fuse_a(1.0), 15.0);
  EXPECT_EQ(circuit::most_fuse_a(0.823), 10.0);  // AWG18
}

}  // namespace
}  // namespace halfsplit::formats
