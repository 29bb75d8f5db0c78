// SPDX-License-Identifier: Apache-2.0
// What is odd about buses (docs/formats/loom.md, "What is odd"): a sound loom, changed in one place, says one thing,
// where it is, and nothing else.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "circuit/oddities.h"
#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

// Two buses with a gateway: c with terminators in ECU and DASH and a socket, l of one wire.
const char* const kSound = R"(loom = 1
name = "t"
[buses.c]
reader = ["X9:C@loom", "X9:D@loom"]
[buses.l]
kind = "lin"
[connectors.X9]
sides = ["loom", "tool"]
pins = ["C", "D"]
pluggable = false
[splices]
SH = {}
SL = {}
TH = {}
TL = {}
[modules.ECU]
frame = "chassis"
inside = [{ kind = "terminator", pins = ["1", "2"] }]
[modules.ECU.pins]
1 = { role = "can-high", bus = "c" }
2 = { role = "can-low", bus = "c" }
[modules.DASH]
frame = "chassis"
inside = [{ kind = "terminator", pins = ["1", "2"] }]
[modules.DASH.pins]
1 = { role = "can-high", bus = "c" }
2 = { role = "can-low", bus = "c" }
[modules.GATE]
frame = "chassis"
gateway = ["c", "l"]
[modules.GATE.pins]
1 = { role = "can-high", bus = "c" }
2 = { role = "can-low", bus = "c" }
3 = { role = "bus-wire", bus = "l", commander = true }
[modules.SEAT]
frame = "chassis"
[modules.SEAT.pins]
1 = { role = "bus-wire", bus = "l" }
[runs]
high = "ECU:1 -[1mm2 2m]-> SH -[1mm2 10m]-> TH -[1mm2 10m]-> DASH:1"
low = "ECU:2 -[1mm2 2m]-> SL -[1mm2 10m]-> TL -[1mm2 10m]-> DASH:2"
gate-high = "GATE:1 -[1mm2 2m]-> TH"
gate-low = "GATE:2 -[1mm2 2m]-> TL"
socket-high = "SH -[1mm2 1m]-> X9:C"
socket-low = "SL -[1mm2 1m]-> X9:D"
wire = "GATE:3 -[1mm2 5m]-> SEAT:1"
[messages.speed]
from = "ECU"
to = ["DASH", "SEAT"]
pgn = 0xF004
[codes.x]
module = "SEAT"
lost = "ECU"
[codes.y]
module = "SEAT"
lost = "speed"
)";

std::vector<base::Diagnostic> bus_oddities_of(const std::string& text) {
  const auto read = read_loom_text("t", text);
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  return read.ok() ? circuit::find_oddities(*read) : std::vector<base::Diagnostic>();
}

using Edit = std::pair<std::string, std::string>;

std::string edited(const std::vector<Edit>& edits) {
  std::string text = kSound;
  for (const auto& [from, to] : edits) {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (at != std::string::npos) text.replace(at, from.size(), to);
  }
  return text;
}

std::size_t line_of(const std::string& text, const std::string& what) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return 1U + static_cast<std::size_t>(std::count(text.begin(), text.begin() + static_cast<long>(at), '\n'));
}

struct OddBus {
  std::vector<Edit> edits;
  std::string code;
  std::string at;       // on the line that first holds this
  std::string message;  // part of it
};

const std::string kNoTerminator = "inside = []";
const std::string kTerminator = "inside = [{ kind = \"terminator\", pins = [\"1\", \"2\"] }]";

const std::vector<OddBus>& odd_buses() {
  static const std::vector<OddBus> list{
      {{{"[buses.c]", "[buses.k]\n[buses.c]"}}, "odd.bus-alone", "[buses.k]", "no module sits on bus k"},
      {{{"[modules.SEAT.pins]\n1 = { role = \"bus-wire\", bus = \"l\" }", "[modules.SEAT.pins]\n1 = \"unknown\""},
        {", \"SEAT\"]", "]"}},
       "odd.bus-alone",
       "[buses.l]",
       "only GATE sits on bus l"},
      // --- terminators ---
      {{{kTerminator, kNoTerminator}, {kTerminator, kNoTerminator}},
       "odd.bus-terminators",
       "[buses.c]",
       "has no terminator"},
      {{{kTerminator, kNoTerminator}},
       "odd.bus-terminators",
       "[buses.c]",
       "one terminator between high and low, 120 ohm"},
      {{{"gateway =", kTerminator + "\ngateway ="}},
       "odd.bus-terminators",
       "[buses.c]",
       "3 terminators between high and low, 40 ohm"},
      {{{kTerminator, kNoTerminator},
        {"[runs]",
         "[parts]\nR = { kind = \"resistor\", ohm = 60 }\n[runs]\nr = [\"SH -[1mm2]-> R:1\", \"SL -[1mm2]-> R:2\"]"},
        {kTerminator, kNoTerminator}},
       "odd.bus-terminators",
       "[buses.c]",
       "all at one end"},
      // --- wiring ---
      {{{"gate-high", "ring = \"SH -[1mm2 20m name=closing]-> TH\"\ngate-high"}},
       "odd.bus-ring",
       "closing",
       "the high line of bus c makes a ring, closed by wire closing"},
      {{{"gate-high", "ring = [\"SH -[1mm2 20m]-> TH\", \"SL -[1mm2 20m]-> TL\"]\ngate-high"}},
       "odd.bus-ring",
       "ring = ",
       "both lines of bus c make a ring, closed by wire ring.1 and by wire ring.2"},
      {{{"gate-low = \"GATE:2 -[1mm2 2m]-> TL\"\n", ""}},
       "odd.bus-apart",
       "2 = { role = \"can-low\", bus = \"c\" }\n3",
       "no wires join GATE to the rest of bus c: its can-low pin hangs elsewhere"},
      {{{"gate-high = \"GATE:1 -[1mm2 2m]-> TH\"\ngate-low = \"GATE:2 -[1mm2 2m]-> TL\"\n", ""}},
       "odd.bus-apart",
       "1 = { role = \"can-high\", bus = \"c\" }\n2 = { role = \"can-low\", bus = \"c\" }\n3",
       "its pins hang elsewhere"},
      {{{"GATE:1 -[1mm2 2m]", "GATE:2 -[1mm2 2m]"}, {"GATE:2 -[1mm2 2m]-> TL", "GATE:1 -[1mm2 2m]-> TL"}},
       "odd.bus-crossed",
       "1 = { role = \"can-high\", bus = \"c\" }\n2 = { role = \"can-low\", bus = \"c\" }\n3",
       "high and low of GATE are crossed"},
      {{{"gate-high", "short = \"TH -[1mm2]-> TL\"\ngate-high"}},
       "odd.bus-crossed",
       "[buses.c]",
       "wires join the high and the low line of bus c"},
      {{{"gate-high", "slip = [\"ECU:3 -[1mm2]-> SK -[1mm2]-> SEAT:2\", \"SK -[1mm2]-> TH\"]\ngate-high"},
        {"[splices]", "[splices]\nSK = {}"},
        {"[buses.l]", "[buses.k]\nkind = \"can-single-wire\"\n[buses.l]"},
        {"[modules.ECU.pins]", "[modules.ECU.pins]\n3 = { role = \"bus-wire\", bus = \"k\" }"},
        {"[modules.SEAT.pins]", "[modules.SEAT.pins]\n2 = { role = \"bus-wire\", bus = \"k\" }"}},
       "odd.buses-joined",
       "3 = { role = \"bus-wire\", bus = \"k\" }",
       "wires join this pin of ECU, of bus k, to the high line of bus c"},
      // --- the reader, LIN ---
      {{{"socket-high = \"SH -[1mm2 1m]-> X9:C\"", "socket-high = \"chassis -[1mm2 1m]-> X9:C\""}},
       "odd.reader-off-bus",
       "[buses.c]",
       "no wires join the point X9:C@loom, where the code reader of bus c sits"},
      {{{"[\"X9:C@loom\", \"X9:D@loom\"]", "[\"X9:D@loom\", \"X9:C@loom\"]"}},
       "odd.reader-off-bus",
       "[buses.c]",
       "points crossed"},
      {{{", commander = true", ""}}, "odd.lin-commander", "[buses.l]", "LIN bus l has no commander"},
      {{{"[modules.SEAT.pins]\n1 = { role = \"bus-wire\", bus = \"l\" }",
         "[modules.SEAT.pins]\n1 = { role = \"bus-wire\", bus = \"l\", commander = true }"}},
       "odd.lin-commander",
       "1 = { role = \"bus-wire\", bus = \"l\", commander = true }",
       "LIN bus l has 2 commanders"},
      // --- lengths ---
      {{{"TH -[1mm2 10m]", "TH -[1mm2 30m]"}}, "odd.bus-length", "[buses.c]", "bus c is 42 m from end to end"},
      {{{"GATE:1 -[1mm2 2m]", "GATE:1 -[1mm2 4m]"}},
       "odd.bus-stub",
       "[modules.GATE]",
       "GATE hangs on a stub of 4.0 m off bus c"},
      // --- messages ---
      {{{"[messages.speed]",
         "[modules.CAM]\nframe = \"chassis\"\n[modules.CAM.pins]\n1 = \"ground\"\n[messages.view]\nfrom = "
         "\"CAM\"\n[messages.speed]"},
        {"[runs]", "[runs]\ncam = \"CAM:1 -[1mm2]-> chassis\""}},
       "odd.message-unsent",
       "[messages.view]",
       "nobody sends message view: CAM sits on no bus"},
      {{{"gateway = [\"c\", \"l\"]\n", ""},
        {"lost = \"ECU\"", "lost = \"GATE\""},
        {"lost = \"speed\"", "lost = \"GATE\""}},
       "odd.message-unheard",
       "[messages.speed]",
       "SEAT waits for message speed and can never hear it: no gateway leads from the buses of ECU to its own"},
      {{{"gateway = [\"c\", \"l\"]\n", ""}, {", \"SEAT\"]", "]"}, {"lost = \"speed\"", "lost = \"GATE\""}},
       "odd.lost-never",
       "[codes.x]",
       "SEAT sets code x when it misses ECU, and can never hear it"},
      {{{"gateway = [\"c\", \"l\"]\n", ""}, {", \"SEAT\"]", "]"}, {"lost = \"ECU\"", "lost = \"GATE\""}},
       "odd.lost-never",
       "[codes.y]",
       "SEAT sets code y when it misses message speed"},
      {{{"lost = \"ECU\"", "lost = \"SEAT\""}}, "odd.lost-never", "[codes.x]", "misses its own messages"},
  };
  return list;
}

TEST(BusOddities, ASoundBusHasNone) { EXPECT_EQ(base::format_diagnostics(bus_oddities_of(kSound)), ""); }

TEST(BusOddities, EachIsSeenOnceInItsPlace) {
  for (const OddBus& odd : odd_buses()) {
    const std::string text = edited(odd.edits);
    SCOPED_TRACE(odd.code + ": " + odd.message);
    const auto found = bus_oddities_of(text);
    ASSERT_EQ(found.size(), 1U) << base::format_diagnostics(found);
    EXPECT_EQ(found[0].code, odd.code);
    EXPECT_NE(found[0].message.find(odd.message), std::string::npos) << found[0].message;
    EXPECT_EQ(found[0].where.line, line_of(text, odd.at)) << base::format_diagnostics(found);
    EXPECT_NE(found[0].severity, base::Severity::kError);
    EXPECT_FALSE(found[0].hint.empty());
  }
}

// Looms written before there were buses: their pins are on one implied bus, and what is not drawn is not missed.
TEST(BusOddities, ADrawingThatLeavesTheBusOutIsNotOdd) {
  const std::string pins = "1 = \"can-high\"\n2 = \"can-low\"\n3 = \"ground\"\n";
  const std::string bare = "loom = 1\nname = \"t\"\n[modules.A.pins]\n" + pins + "[modules.B.pins]\n" + pins +
                           "[runs]\ng = [\"A:3 -[1mm2]-> chassis\", \"B:3 -[1mm2]-> chassis\"]\n";
  EXPECT_EQ(base::format_diagnostics(bus_oddities_of(bare)), "");
  const auto wired = bus_oddities_of(bare + "h = \"A:1 -[1mm2]-> B:1\"\nl = \"A:2 -[1mm2]-> B:2\"\n");
  ASSERT_EQ(wired.size(), 1U) << base::format_diagnostics(wired);
  EXPECT_EQ(wired[0].code, "odd.bus-terminators");
  EXPECT_EQ(wired[0].where.line, 4U);  // its first pin
}

// Two resistors of 60 ohm in series are one terminator of 120, wherever their middle leads, but not over a frame.
TEST(BusOddities, ASplitTerminatorIsOne) {
  const std::string split =
      "[parts]\nR1 = { kind = \"resistor\", ohm = 60 }\nR2 = { kind = \"resistor\", ohm = 60 }\n[runs]\nr = [\"SH "
      "-[1mm2]-> R1:1\", \"R1:2 -[1mm2]-> R2:1\", \"R2:2 -[1mm2]-> SL\"]";
  EXPECT_EQ(base::format_diagnostics(bus_oddities_of(edited({{kTerminator, kNoTerminator}, {"[runs]", split}}))), "");
  const auto grounded =
      bus_oddities_of(edited({{kTerminator, kNoTerminator},
                              {"[runs]", split},
                              {"R1:2 -[1mm2]-> R2:1", "R1:2 -[1mm2]-> chassis"},
                              {"R2:2 -[1mm2]-> SL\"]", "R2:1 -[1mm2]-> chassis\", \"R2:2 -[1mm2]-> SL\"]"}}));
  ASSERT_EQ(grounded.size(), 1U) << base::format_diagnostics(grounded);
  EXPECT_NE(grounded[0].message.find("one terminator"), std::string::npos);
}

}  // namespace
}  // namespace halfsplit::formats
