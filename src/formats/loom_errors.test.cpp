// SPDX-License-Identifier: Apache-2.0
// One bad loom per error code: the code, the place (marked ^ in the text), what the hint says. What is right and wrong
// is said in docs/formats/loom.md, part 1; the texts are ours.
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

struct BadLoom {
  std::string code;
  std::string text;  // below `loom = 1` and `name`; ^ stands before the place
  std::string hint;  // part of the hint
};

const char* const kHead = "loom = 1\nname = \"t\"\n";

// A bus of two modules, and a LIN bus that nobody is on.
const std::string kBus =
    "[buses.c]\n[buses.l]\nkind = \"lin\"\n[modules.M]\npins = { 1 = \"can-high\", 2 = \"can-low\", 3 = \"ground\" "
    "}\n[modules.N]\npins = { 1 = \"can-high\", 2 = \"can-low\" }\n";

const std::vector<BadLoom>& bad_looms() {
  static const std::vector<BadLoom> looms{
      // --- TOML itself ---
      {"loom.syntax", "vehicle = ^box lorry\n", "\"box lorry\""},
      {"loom.syntax", "vehicle = \"box^\n", "close the text with the quote it begins with"},
      {"loom.syntax", "[parts.oil ^lamp]\nkind = \"lamp\"\nwatt = 5\n", "[parts.\"oil lamp\"]"},
      {"loom.syntax", "oil ^lamp = 5\n", "stands in quotes"},
      {"loom.syntax", "in_use = ^[\"a\",\n[places.x]\n", "close it with ]"},
      {"loom.syntax", "note = ^\"\"\"\nabc\n", "three quotes"},
      {"loom.syntax", "[parts]\nL1 = { kind = \"lamp\",^\n watt = 5 }\n", "on one line"},
      {"loom.syntax", "note = \"a\\^q\"\n", "backslash"},
      {"loom.syntax", "note =^\n", "behind the ="},
      {"loom.syntax", "note = ^\u201Cx\u201D\n", "straight quotes"},
      {"loom.syntax", "note = \"a\" ^\"b\"\n", "one key a line"},
      {"loom.syntax", "in_use = [\"a\" ^\"b\"]\n", "commas"},
      {"loom.syntax", "system_volts = ^4k7\n", "\"4k7\""},
      {"loom.bad-number", "system_volts = ^1e400\n", "4700"},
      {"loom.duplicate-key", "vehicle = \"a\"\n^vehicle = \"b\"\n", "keep one"},
      {"loom.duplicate-name", "[places.a]\n[places.b]\n^[places.a]\nminutes = 2\n", "rename one"},
      {"loom.too-deep", "^a = " + std::string(40, '[') + std::string(40, ']') + "\n", "brackets"},
      // --- keys and values ---
      {"loom.unknown-key", "[places.a]\n^minuts = 2\n", "did you mean minutes?"},
      {"loom.missing-key", "^[connectors.J1]\n", "sides: two names"},
      {"loom.missing-key", "^[parts.F1]\nrating_a = 5\n", "fuse"},
      {"loom.missing-key", "^[parts.F1]\nkind = \"fuse\"\n", "printed rating"},
      {"loom.bad-type", "[places.a]\nminutes = ^[1]\n", "hands there"},
      {"loom.bad-type", "places = ^3\n", "[places.NAME]"},
      {"loom.bad-type", "[places]\na = ^3\n", "[header]"},
      {"loom.bad-type", "[parts]\nF1 = ^\"fuse\"\n", "[header]"},
      {"loom.bad-type", "[runs]\na = ^{ b = 1 }\n", "in quotes"},
      {"loom.bad-number", "[places.a]\nminutes = ^nan\n", "between 0 and 10000"},
      {"loom.bad-number", "[places.a]\nminutes = ^-inf\n", "between 0 and 10000"},
      {"loom.bad-number", "[places.a]\nminutes = \"^soon\"\n", "10 min"},
      {"loom.bad-unit", "[places.a]\nminutes = \"^5 V\"\n", "10 min"},
      {"loom.bad-unit", "[places.a]\nminutes = \"^5 furlongs\"\n", "10 min"},
      {"loom.out-of-range", "[places.a]\nminutes = ^-1\n", "between 0 and 10000 minutes"},
      {"loom.out-of-range", "[defaults]\ncontact_ohm = ^-0.005\n", "ohm"},
      {"loom.bad-word", "[places.a]\nstress = [^\"flexx\"]\n", "did you mean flex?"},
      {"loom.bad-name", "[places.^\"a@b\"]\n", "- or _"},
      {"loom.bad-name", "[splices.^\"a.b\"]\n", "- or _"},
      {"loom.duplicate-name", "[splices.S1]\n[studs.^S1]\n", "one name, one thing"},
      {"loom.duplicate-name", "[splices.^chassis]\n", "[frames.chassis]"},
      // --- names of things ---
      {"loom.unknown-place", "[places.dash]\n[splices.S1]\nplace = ^\"dsh\"\n", "did you mean dash?"},
      {"loom.unknown-setup", "in_use = [^\"key-onn\"]\n[setups.key-on]\n", "did you mean key-on?"},
      {"loom.unknown-frame", "[studs.G1]\nframe = ^\"chasis\"\n", "did you mean chassis?"},
      {"loom.unknown-part", "supply = ^\"B2\"\n", "declare it"},
      {"loom.unknown-part", "[setups.a]\nsets = { ^S9 = \"open\" }\n", "kind = \"switch\""},
      {"loom.unknown-module", "[codes.x]\nmodule = ^\"BMC\"\nlost = \"BCM\"\n[modules.BCM]\n", "did you mean BCM?"},
      {"loom.unknown-kind", "[parts.L1]\nkind = ^\"lmap\"\n", "did you mean lamp?"},
      {"loom.wrong-kind", "supply = ^\"R1\"\n[parts.R1]\nkind = \"resistor\"\nohm = 1\n", "battery"},
      {"loom.wrong-kind", "[setups.a]\nsets = { ^R1 = \"open\" }\n[parts.R1]\nkind = \"resistor\"\nohm = 1\n",
       "switch"},
      {"loom.bad-word", "[setups.a]\nsets = { S1 = ^\"on\" }\n[parts.S1]\nkind = \"switch\"\n", "\"closed\""},
      {"loom.needs-circle", "[setups.^a]\nneeds = [\"b\"]\n[setups.b]\nneeds = [\"a\"]\n", "take one need away"},
      {"loom.excludes-itself", "[setups.a]\nexcludes = ^[\"a\"]\n", "out of the list"},
      // --- connectors ---
      {"loom.bad-sides", "[connectors.J1]\nsides = ^[\"cab\"]\n", "for where they lead"},
      {"loom.bad-sides", "[connectors.J1]\nsides = ^[\"cab\", \"cab\"]\n", "for where they lead"},
      {"loom.unknown-side", "[places.p]\n[connectors.J1]\nsides = [\"cab\", \"rear\"]\nplace = { ^front = \"p\" }\n",
       "cab and rear"},
      {"loom.bad-pins", "[connectors.J1]\nsides = [\"a\", \"b\"]\npins = \"1,^9-2\"\n", "smaller number first"},
      {"loom.bad-pins", "[connectors.J1]\nsides = [\"a\", \"b\"]\npins = \"^1-99999\"\n", "slip"},
      {"loom.bad-pins", "[connectors.J1]\nsides = [\"a\", \"b\"]\nrows = ^[\"1\"]\n", "[[\"1\", \"2\"]"},
      {"loom.duplicate-cavity", "[connectors.J1]\nsides = [\"a\", \"b\"]\npins = \"1-4,^3\"\n", "each cavity once"},
      {"loom.duplicate-cavity", "[connectors.J1]\nsides = [\"a\", \"b\"]\nrows = [[\"1\"], [^\"1\"]]\n",
       "each cavity once"},
      {"loom.two-ways", "[connectors.J1]\nsides = [\"a\", \"b\"]\npins = ^\"1-2\"\nrows = [[\"1\", \"2\"]]\n",
       "keep rows"},
      {"loom.missing-key", "[frames.a]\n[frames.b]\n[studs.^G1]\n", "which frame"},
      // --- parts ---
      {"loom.key-does-not-fit", "[parts.F1]\nkind = \"fuse\"\nrating_a = 5\nled = ^true\n", "lamp"},
      {"loom.missing-value", "^[parts.M1]\nkind = \"motor\"\n", "watt"},
      {"loom.two-ways", "[parts.M1]\nkind = \"motor\"\nohm = 3\nwatt = ^5\n", "one of the two"},
      {"loom.missing-value", "[parts.RT]\nkind = ^\"ntc\"\nat = 20\n", "r25_ohm"},
      {"loom.out-of-range", "[parts.RT]\nkind = \"ntc\"\nat = 20\nr25_ohm = 1000\nb_k = ^-3000\n", "positive"},
      {"loom.out-of-range", "[parts.RT]\nkind = \"ntc\"\nat = ^-90\nr25_ohm = 1e8\nb_k = 20000\n", "slip"},
      {"loom.missing-value", "[parts.BL]\nkind = ^\"sender\"\nat = 20\n", "value, ohm"},
      {"loom.bad-curve", "[parts.BL]\nkind = \"sender\"\nat = 2\ncurve = [[0, 10], ^[0, 20]]\n", "in order"},
      {"loom.bad-curve", "[parts.BP]\nkind = \"three-wire-sensor\"\nat = 2\ncurve = [[0, 0.1], ^[9, 1.1]]\n", "share"},
      {"loom.bad-curve", "[parts.BL]\nkind = \"sender\"\nat = 2\ncurve = ^[[0, 10]]\n", "value, ohm"},
      {"loom.bad-curve", "[parts.BL]\nkind = \"sender\"\nat = 2\ncurve = [^[0, \"10 V\"], [1, 20]]\n", "value, ohm"},
      {"loom.unknown-cavity", "[parts.L1]\nkind = \"lamp\"\nwatt = 5\nplug = { pins = ^\"1-3\" }\n", "1 or 2"},
      {"loom.out-of-range", "[parts.K1]\nkind = \"relay\"\ncoil_ohm = 300\npull_in_v = 8\ndrop_out_v = ^9\n", "below"},
      // --- modules ---
      {"loom.bad-word", "[modules.M.pins]\n\"A:1\" = ^\"suply\"\n", "did you mean supply?"},
      {"loom.bad-pin", "[modules.M.pins]\n^\"A:\" = \"ground\"\n", "\"A:14\""},
      {"loom.bad-pin",
       "[modules.M]\ninside = [{ kind = \"terminator\", pins = ^[\"1\", \"1\"] }]\n[modules.M.pins]\n1 = "
       "\"ground\"\n",
       "C:2"},
      {"loom.mixed-plugs", "[modules.M.pins]\n\"A:1\" = \"ground\"\n^2 = \"ground\"\n", "\"A:14\""},
      {"loom.unknown-plug", "[modules.M.plugs]\nA = {}\n[modules.M.pins]\n^\"a:1\" = \"ground\"\n", "did you mean A?"},
      {"loom.unknown-cavity", "[modules.M.plugs]\nA = { pins = \"1-2\" }\n[modules.M.pins]\n^\"A:3\" = \"ground\"\n",
       "list of pins"},
      {"loom.unknown-pin", "[modules.M.pins]\n1 = { role = \"high-side\", follows = ^\"22\" }\n2 = \"input\"\n",
       "[modules.M.pins]"},
      {"loom.wrong-pin", "[modules.M.pins]\n1 = { role = \"high-side\", follows = ^\"2\" }\n2 = \"ground\"\n", "input"},
      {"loom.key-does-not-fit", "[modules.M.pins]\n1 = { role = \"ground\", draw_a = ^3 }\n", "supply"},
      {"loom.missing-value", "[modules.M.pins]\n1 = { role = \"low-side\", follows_v = ^3 }\n", "follows ="},
      {"loom.missing-value",
       "[modules.M]\ninside = [{ kind = ^\"resistor\", pins = [\"1\", \"2\"] }]\n"
       "[modules.M.pins]\n1 = \"ground\"\n2 = \"input\"\n",
       "ohm"},
      {"loom.two-ways", "[setups.k]\n[modules.M]\npowered_with = ^[\"k\"]\n[modules.M.pins]\n1 = \"supply\"\n",
       "one of the two"},
      // --- points and runs ---
      {"loom.unknown-point", "[splices.S10]\n[runs]\na = \"S10 -> ^S11\"\n", "S10"},
      {"loom.unknown-plug", "[modules.M.pins]\n\"A:1\" = \"ground\"\n[runs]\na = \"chassis -> ^M.B:1\"\n", "M.A"},
      {"loom.unknown-cavity",
       "[connectors.J1]\nsides = [\"a\", \"b\"]\npins = \"1-4\"\n[splices.S1]\n[runs]\na = \"S1 -> J1:^9\"\n",
       "J1 has 1, 2, 3, 4"},
      {"loom.unknown-cavity", "[parts.L1]\nkind = \"lamp\"\nwatt = 5\n[runs]\na = \"chassis -> L1:^3\"\n",
       "L1 has 1, 2"},
      {"loom.unknown-side", "[connectors.J1]\nsides = [\"cab\", \"rear\"]\n[runs]\na = \"chassis -> J1:1@^cap\"\n",
       "cab and rear"},
      {"loom.side-missing",
       "[connectors.J1]\nsides = [\"cab\", \"rear\"]\n[wires.w]\nfrom = \"chassis\"\nto = \"^J1:1\"\n",
       "J1:1@cab or J1:1@rear"},
      {"loom.unit-side", "[parts.L1]\nkind = \"lamp\"\nwatt = 5\n[runs]\na = \"chassis -> L1:1@^unit\"\n",
       "write L1:1"},
      {"loom.cavity-missing", "[connectors.J1]\nsides = [\"cab\", \"rear\"]\n[runs]\na = \"chassis -> ^J1\"\n",
       "J1:1@cab"},
      {"loom.not-a-plug", "[splices.S1]\n[runs]\na = \"chassis -> ^S1:4\"\n", "write S1"},
      {"loom.bad-point", "[wires.w]\nfrom = \"chassis\"\nto = \"^J1:\"\n", "J4:12@cab"},
      {"loom.same-ends", "[splices.S1]\n[runs]\na = \"S1 ^-> S1\"\n", "two points"},
      {"loom.bad-run", "[splices.S1]\n[runs]\na = \"^S1\"\n", "-[RD 0.5mm2 2m]->"},
      {"loom.bad-run", "[splices.S1]\n[runs]\na = \"S1 ^-[RD -> chassis\"\n", "]->"},
      {"loom.bad-run", "[splices.S1]\n[runs]\na = \"S1 ^-[RD]- chassis\"\n", "-[...]->"},
      {"loom.bad-run", "[splices.S1]\n[runs]\na = \"S1 ^\u2192 chassis\"\n", "a link is ->"},
      {"loom.bad-run", "[splices.S1]\n[runs]\na = \"S1 -> ^-> chassis\"\n", "a link is ->"},
      {"loom.run-through", "[modules.M]\n[splices.S1]\n[runs]\na = \"S1 -> ^M:1 -> chassis\"\n", "begin another"},
      {"loom.run-through",
       "[parts.F1]\nkind = \"fuse\"\nrating_a = 5\n[splices.S1]\n[runs]\na = \"S1 -> ^F1:1 -> chassis\"\n", "F1:1/2"},
      {"loom.bad-attribute", "[splices.S1]\n[runs]\na = \"S1 -[^bundel=x]-> chassis\"\n", "did you mean bundle?"},
      {"loom.bad-attribute", "[splices.S1]\n[runs]\na = \"S1 -[RD ^BU]-> chassis\"\n", "once"},
      {"loom.unknown-colour", "[splices.S1]\n[runs]\na = \"S1 -[^red]-> chassis\"\n", "RD"},
      {"loom.unknown-colour", "[splices.S1]\n[wires.w]\nfrom = \"S1\"\nto = \"chassis\"\ncolour = \"RD/^XX\"\n",
       "BK BN RD"},
      {"loom.bad-unit", "[splices.S1]\n[runs]\na = \"S1 -[^2]-> chassis\"\n", "0.5mm2"},
      {"loom.bad-unit", "[splices.S1]\n[runs]\na = \"S1 -[^2V]-> chassis\"\n", "0.5mm2"},
      {"loom.bad-number", "[splices.S1]\n[runs]\na = \"S1 -[^1.2.3mm2]-> chassis\"\n", "0.5mm2"},
      {"loom.out-of-range", "[splices.S1]\n[runs]\na = \"S1 -[^5000mm2]-> chassis\"\n", "between 0.01 and 500 mm2"},
      {"loom.unknown-place", "[splices.S1]\n[runs]\na = \"S1 -[place=^tail]-> chassis\"\n", "declare it"},
      {"loom.duplicate-name",
       "[splices.S1]\n[wires.\"a.1\"]\nfrom = \"S1\"\nto = \"chassis\"\n[runs]\na = \"S1 ^-> chassis\"\n",
       "rename one"},
      // --- codes and live values ---
      {"loom.monitor", "[modules.M]\n[codes.x]\nmodule = ^\"M\"\n", "supply_below_v"},
      {"loom.monitor", "[modules.M]\n[codes.x]\nmodule = \"M\"\nsupply_below_v = 20\nlost = ^\"M\"\n",
       "one code, one monitor"},
      {"loom.monitor", "[modules.M]\n[codes.x]\nmodule = ^\"M\"\nabove_v = 4\n", "add pin"},
      {"loom.unknown-pin",
       "[modules.M.pins]\n\"A:14\" = \"input\"\n[codes.x]\nmodule = \"M\"\npin = ^\"A14\"\nabove_v = 4\n",
       "did you mean A:14?"},
      {"loom.wrong-pin", "[modules.M.pins]\n1 = \"input\"\n[codes.x]\nmodule = \"M\"\npin = ^\"1\"\nover_a = 4\n",
       "high-side"},
      {"loom.wrong-kind",
       "[modules.M.pins]\n1 = \"input\"\n[parts.R1]\nkind = \"resistor\"\nohm = 1\n[live.x]\nmodule = \"M\"\npin = "
       "\"1\"\npart "
       "= ^\"R1\"\nlow = 0\nhigh = 1\n",
       "sender"},
      {"loom.out-of-range",
       "[modules.M.pins]\n1 = \"input\"\n[parts.R1]\nkind = \"potentiometer\"\nohm = 100\nat = 0\n[live.x]\nmodule = "
       "\"M\"\npin = \"1\"\npart = \"R1\"\nlow = 1\nhigh = ^1\n",
       "above low"},
      // --- buses ---
      {"loom.bad-word", "[buses.c]\nkind = ^\"cann\"\n", "did you mean can?"},
      {"loom.bad-type", "[buses]\nc = ^\"can\"\n", "[header]"},
      {"loom.out-of-range", "[buses.c]\nbit_rate = ^250000\n", "kbit/s"},
      {"loom.out-of-range", "[buses.c]\nsample_percent = ^0.87\n", "between 10 and 95"},
      {"loom.unknown-key", "[buses.c]\n^bitrate = 250\n", "did you mean bit_rate?"},
      {"loom.bad-name", "[buses.^\"a@b\"]\n", "- or _"},
      {"loom.unknown-bus", kBus + "[modules.P.pins]\n1 = { role = \"can-high\", bus = ^\"cc\" }\n", "write c or l"},
      {"loom.unknown-bus", "[modules.P.pins]\n1 = { role = \"can-high\", bus = ^\"body\" }\n", "declare it"},
      {"loom.wrong-bus", kBus + "[modules.P.pins]\n1 = { role = \"can-high\", bus = ^\"l\" }\n", "bus-wire"},
      {"loom.wrong-bus", kBus + "[modules.P.pins]\n1 = { role = \"bus-wire\", bus = ^\"c\" }\n",
       "can-high and can-low"},
      {"loom.no-bus", "[modules.P.pins]\n^1 = \"bus-wire\"\n", "kind = \"lin\""},
      {"loom.no-bus", "[buses.l]\nkind = \"lin\"\n[modules.P.pins]\n^\"A:1\" = \"can-low\"\n", "kind = \"can\""},
      {"loom.missing-bus", "[buses.a]\n[buses.b]\n[modules.P.pins]\n^1 = \"can-low\"\n", "bus = a or b"},
      {"loom.half-seat", "[buses.a]\n[modules.P.pins]\n^1 = \"can-low\"\n2 = \"ground\"\n", "the other pin"},
      {"loom.bus-twice",
       "[buses.a]\n[modules.P.pins]\n1 = \"can-low\"\n2 = \"can-high\"\n^3 = { role = \"can-low\", bus = \"a\" }\n",
       "another bus"},
      {"loom.bus-twice", "[buses.a]\nkind = \"lin\"\n[modules.P.pins]\n1 = \"bus-wire\"\n^2 = \"bus-wire\"\n",
       "sits on a bus once"},
      {"loom.key-does-not-fit", kBus + "[modules.P.pins]\n1 = { role = \"input\", bus = ^\"c\" }\n", "can-high"},
      {"loom.key-does-not-fit", kBus + "[modules.P.pins]\n1 = { role = \"input\", commander = ^true }\n", "bus-wire"},
      {"loom.bad-commander",
       "[buses.s]\nkind = \"can-single-wire\"\n[modules.P.pins]\n1 = { role = \"bus-wire\", commander = ^true }\n",
       "LIN"},
      {"loom.out-of-range", kBus + "[modules.P.pins]\n1 = { role = \"can-high\", unpowered_ohm = ^0 }\n", "ohm"},
      // --- the code reader ---
      {"loom.bad-reader", "[buses.c]\nreader = ^\"X9:C\"\n", "high and low"},
      {"loom.bad-reader", "[buses.c]\nreader = ^[\"X9:C\", \"X9:D\", \"X9:E\"]\n", "high and low"},
      {"loom.bad-reader", "[buses.c]\nkind = \"lin\"\nreader = ^[\"X9:C\", \"X9:D\"]\n", "one point"},
      {"loom.bad-type", "[buses.c]\nreader = ^9\n", "\"X9:D\"]"},
      {"loom.bad-type", "[buses.c]\nreader = ^[\"X9:C\", 4]\n", "\"X9:D\"]"},
      {"loom.unknown-point", "[splices.S10]\n[buses.c]\nreader = [\"S10\", \"^S11\"]\n", "S10"},
      {"loom.unknown-cavity", kBus + "[buses.k]\nkind = \"lin\"\nreader = \"M:^9\"\n", "M has 1, 2"},
      {"loom.bad-point", "[buses.c]\nkind = \"lin\"\nreader = \"^J1:\"\n", "J4:12@cab"},
      // --- gateways ---
      {"loom.bad-gateway", kBus + "[modules.P]\ngateway = ^[\"c\"]\npins = { 1 = \"can-high\", 2 = \"can-low\" }\n",
       "between which"},
      {"loom.bad-gateway", kBus + "[modules.P]\ngateway = ^[]\n", "between which"},
      {"loom.unknown-bus",
       kBus + "[modules.P]\ngateway = [\"c\", ^\"d\"]\npins = { 1 = \"can-high\", 2 = \"can-low\" }\n", "write c or l"},
      {"loom.no-seat", kBus + "[modules.P]\ngateway = [\"c\", ^\"l\"]\npins = { 1 = \"can-high\", 2 = \"can-low\" }\n",
       "pins on that bus"},
      {"loom.bad-type", kBus + "[modules.P]\ngateway = ^\"c\"\n", "between these"},
      // --- messages ---
      {"loom.missing-key", kBus + "^[messages.x]\npgn = 1\n", "who sends it"},
      {"loom.unknown-module", kBus + "[messages.x]\nfrom = ^\"MM\"\n", "declare it"},
      {"loom.unknown-module", kBus + "[messages.x]\nfrom = \"M\"\nto = [\"N\", ^\"O\"]\n", "declare it"},
      {"loom.bad-listener", kBus + "[messages.x]\nfrom = \"M\"\nto = [^\"M\"]\n", "out of the list"},
      {"loom.unknown-bus", kBus + "[messages.x]\nfrom = \"M\"\nbus = ^\"d\"\n", "c"},
      {"loom.no-seat", kBus + "[messages.x]\nfrom = \"M\"\nbus = ^\"l\"\n", "bus it sits on"},
      {"loom.two-ways", kBus + "[messages.x]\nfrom = \"M\"\npgn = 1\nid = ^2\n", "one of the two"},
      {"loom.out-of-range", kBus + "[messages.x]\nfrom = \"M\"\npgn = ^0x40000\n", "0x3FFFF"},
      {"loom.out-of-range", kBus + "[messages.x]\nfrom = \"M\"\nid = ^\"0x20000000\"\n", "0x1FFFFFFF"},
      {"loom.out-of-range", kBus + "[messages.x]\nfrom = \"M\"\nid = ^\"0x123456789ABCDEF01\"\n", "0x1FFFFFFF"},
      {"loom.out-of-range", kBus + "[messages.x]\nfrom = \"M\"\nid = ^-1\n", "0x1FFFFFFF"},
      {"loom.bad-number", kBus + "[messages.x]\nfrom = \"M\"\nid = ^\"18FEF100\"\n", "\"0x18FEF100\""},
      {"loom.bad-type", kBus + "[messages.x]\nfrom = \"M\"\nid = ^1.5\n", "CAN identifier"},
      {"loom.out-of-range", kBus + "[messages.x]\nfrom = \"M\"\nevery_ms = ^0\n", "ms"},
      {"loom.unknown-module", kBus + "[messages.speed]\nfrom = \"M\"\n[codes.x]\nmodule = \"N\"\nlost = ^\"sped\"\n",
       "did you mean speed?"},
      {"loom.duplicate-name", kBus + "[messages.x]\nfrom = \"M\"\n^[messages.x]\nfrom = \"N\"\n", "rename one"},
  };
  return looms;
}

struct Place {
  std::size_t line = 1, column = 1;
};

// Takes the mark out and says where it stood, in characters.
Place take_mark(std::string& text) {
  const std::size_t at = text.find('^');
  EXPECT_NE(at, std::string::npos) << text;
  text.erase(at, 1);
  Place place;
  for (std::size_t i = 0; i < at; ++i) {
    if (text[i] == '\n') {
      ++place.line;
      place.column = 1;
    } else if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U) {
      ++place.column;
    }
  }
  return place;
}

TEST(LoomErrors, EachHasItsCodePlaceAndHint) {
  for (const BadLoom& bad : bad_looms()) {
    std::string text = kHead + bad.text;
    const Place place = take_mark(text);
    SCOPED_TRACE(text);
    const base::Result<circuit::Loom> read = read_loom_text("t.loom.toml", text);
    ASSERT_FALSE(read.ok());
    const base::Diagnostic& first = read.diagnostics().front();
    EXPECT_EQ(first.code, bad.code) << base::format_diagnostics(read.diagnostics());
    EXPECT_EQ(first.where.line, place.line) << base::format_diagnostic(first);
    EXPECT_EQ(first.where.column, place.column) << base::format_diagnostic(first);
    EXPECT_NE(first.hint.find(bad.hint), std::string::npos) << base::format_diagnostic(first);
    EXPECT_EQ(first.where.file, "t.loom.toml");
    EXPECT_FALSE(first.where.source_line.empty());
    EXPECT_FALSE(first.message.empty());
    std::size_t errors = 0;
    for (const base::Diagnostic& diagnostic : read.diagnostics())
      errors += diagnostic.severity == base::Severity::kError;
    EXPECT_EQ(errors, 1U) << "one slip, one error:\n" << base::format_diagnostics(read.diagnostics());
  }
}

// The reference page names every code: whole, or as "-pin" behind "loom.unknown-place".
TEST(LoomErrors, EveryCodeIsOnTheReferencePage) {
  std::ifstream in("docs/formats/loom.md", std::ios::binary);
  const std::string page{std::istreambuf_iterator<char>(in), {}};
  std::set<std::string> codes;
  for (const BadLoom& bad : bad_looms()) codes.insert(bad.code);
  EXPECT_GT(codes.size(), 45U);
  for (const std::string& code : codes) {
    const bool tail = page.find("`" + code.substr(code.find('-') == std::string::npos ? 0 : code.find('-')) + "`") !=
                      std::string::npos;
    EXPECT_TRUE(tail || page.find("`" + code + "`") != std::string::npos) << code;
  }
}

// A reader of several files, from a map.
SourceReader reader_of(const std::map<std::string, std::string>& files) {
  return [files](const std::string& path) -> base::Result<std::string> {
    const auto found = files.find(path);
    if (found != files.end()) return found->second;
    return base::make_error("file.missing", "there is no file " + path);
  };
}

std::string first_code(const base::Result<circuit::Loom>& read) {
  return read.ok() || read.diagnostics().empty() ? "" : read.diagnostics().front().code;
}

TEST(LoomErrors, WholeFiles) {
  EXPECT_EQ(first_code(read_loom("a", reader_of({}))), "loom.missing");
  EXPECT_EQ(first_code(read_loom_text("a", "")), "loom.empty");
  EXPECT_EQ(first_code(read_loom_text("a", " \n\t\n")), "loom.empty");
  EXPECT_EQ(first_code(read_loom_text("a", "name = \"t\"\n")), "loom.missing-key");
  EXPECT_EQ(first_code(read_loom_text("a", "loom = 2\nname = \"t\"\nnew_key = 1\n")), "loom.version");
  EXPECT_EQ(first_code(read_loom_text("a", "loom = \"one\"\n")), "loom.version");
  const auto latin = read_loom_text("a", "loom = 1\nname = \"\xD6l\"\n");
  EXPECT_EQ(first_code(latin), "loom.not-utf8");
  EXPECT_NE(latin.diagnostics().front().message.find("byte 17"), std::string::npos);
  EXPECT_EQ(latin.diagnostics().front().where.line, 2U);
  EXPECT_EQ(latin.diagnostics().front().where.column, 9U);
}

TEST(LoomErrors, ByteOrderMarkAndWindowsLinesAreFine) {
  const auto read = read_loom_text("a", "\xEF\xBB\xBFloom = 1\r\nname = \"t\"\r\n[splices.S1]\r\nprobe = false\r\n");
  EXPECT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
}

TEST(LoomErrors, IncludesMissingCircularAbsoluteAndDeep) {
  const std::string head = "loom = 1\nname = \"t\"\n";
  const auto missing = read_loom("d/a", reader_of({{"d/a", head + "include = [\"b\"]\n"}}));
  EXPECT_EQ(first_code(missing), "loom.include-missing");
  EXPECT_EQ(missing.diagnostics().front().where.line, 3U);
  EXPECT_EQ(missing.diagnostics().front().where.column, 12U);

  const auto circle = read_loom("d/a", reader_of({{"d/a", head + "include = [\"b\"]\n"},
                                                  {"d/b", "include = [\"c\"]\n"},
                                                  {"d/c", "include = [\"../d/a\"]\n"}}));
  EXPECT_EQ(first_code(circle), "loom.include-circle");
  EXPECT_NE(circle.diagnostics().front().message.find("d/a -> d/b -> d/c -> d/a"), std::string::npos);
  EXPECT_EQ(circle.diagnostics().front().where.file, "d/c");

  EXPECT_EQ(first_code(read_loom("a", reader_of({{"a", head + "include = [\"/etc/x\"]\n"}}))), "loom.include-path");
  EXPECT_EQ(first_code(read_loom("a", reader_of({{"a", head + "include = [\"b\\\\c\"]\n"}}))), "loom.include-path");
  EXPECT_EQ(first_code(read_loom("a", reader_of({{"a", head + "include = \"b\"\n"}}))), "loom.bad-type");

  std::map<std::string, std::string> deep{{"0", head + "include = [\"1\"]\n"}}, many{{"0", head + "include = ["}};
  for (int i = 1; i < 40; ++i) deep[std::to_string(i)] = "include = [\"" + std::to_string(i + 1) + "\"]\n";
  EXPECT_EQ(first_code(read_loom("0", reader_of(deep))), "loom.include-depth");
  for (int i = 1; i < 80; ++i) {
    many["0"] += "\"" + std::to_string(i) + "\",";
    many[std::to_string(i)] = "note = \"x\"\n";
  }
  many["0"] += "]\n";
  EXPECT_EQ(first_code(read_loom("0", reader_of(many))), "loom.too-many");
}

TEST(LoomErrors, NamesTakenInTwoFilesPointAtBoth) {
  const auto read = read_loom("a", reader_of({{"a", "loom = 1\nname = \"t\"\ninclude = [\"b\", \"b\"]\n[splices.S1]\n"},
                                              {"b", "\n\n[studs.S1]\n"}}));
  ASSERT_EQ(first_code(read), "loom.duplicate-name");
  EXPECT_EQ(read.diagnostics().size(), 1U);
  // Splices are declared before studs, whichever file they stand in.
  EXPECT_EQ(read.diagnostics().front().where.file, "b");
  EXPECT_NE(read.diagnostics().front().message.find("a:4:10"), std::string::npos);
}

TEST(LoomErrors, SizeLimits) {
  EXPECT_EQ(first_code(read_loom_text("a", std::string(kMostLoomBytes + 1, '#'))), "loom.too-large");
  std::string many = kHead;
  for (int i = 0; i < 120; ++i)
    many += "[connectors.J" + std::to_string(i) + "]\nsides = [\"a\", \"b\"]\npins = \"1-2000\"\n";
  EXPECT_EQ(first_code(read_loom_text("a", many)), "loom.too-many");
  std::string dotted = std::string(kHead) + "a";
  for (int i = 0; i < 100000; ++i) dotted += ".a";
  EXPECT_EQ(first_code(read_loom_text("a", dotted + " = 1\n")), "loom.too-deep");
}

// Several syntax errors, and the errors of what is left, come together; what may only follow from the loss does not.
TEST(LoomErrors, AllInOneGo) {
  const auto read =
      read_loom_text("a", std::string(kHead) +
                              "vehicle = lorry\n"                                         // 3: syntax
                              "[parts.F1\nkind = \"fuse\"\nrating_a = 5\n"                // 4: syntax; F1 is lost
                              "[parts.L1]\nkind = \"lamp\"\nwatt = 5 W\nwat = 3\n"        // 9: syntax, 10: unknown key
                              "[connectors.J1]\nsides = [\"a\", \"b\"\npins = \"1-2\"\n"  // 12: never closed
                              "[splices.S1]\nprobe = 7\n"                                 // 15: type
                              "[runs]\na = \"F1 -> L1\"\nb = \"L1 -[red]-> J1:1@a\"\n");  // 18: colour
  ASSERT_FALSE(read.ok());
  std::vector<std::pair<std::size_t, std::string>> found;
  for (const base::Diagnostic& diagnostic : read.diagnostics())
    found.emplace_back(diagnostic.where.line, diagnostic.code);
  const std::vector<std::pair<std::size_t, std::string>> expected{
      {3, "loom.syntax"},  {4, "loom.syntax"},    {9, "loom.syntax"},          {10, "loom.unknown-key"},
      {12, "loom.syntax"}, {15, "loom.bad-type"}, {18, "loom.unknown-colour"}, {0, "loom.checked-in-part"}};
  EXPECT_EQ(found, expected) << base::format_diagnostics(read.diagnostics());
}

TEST(LoomErrors, AFloodIsCut) {
  std::string text = std::string(kHead) + "[runs]\n";
  for (int i = 0; i < 5000; ++i) text += "r" + std::to_string(i) + " = \"X" + std::to_string(i) + " -> Y\"\n";
  const auto read = read_loom_text("a", text);
  ASSERT_FALSE(read.ok());
  EXPECT_LE(read.diagnostics().size(), 202U);
  EXPECT_EQ(read.diagnostics().back().code, "loom.more-errors");
}

}  // namespace
}  // namespace halfsplit::formats
