// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "base/rng.h"
#include "circuit/oddities.h"
#include "formats/loom_text.h"
#include "formats/sketch.h"

namespace halfsplit::formats {
namespace {

const SketchTemplate& backbone() { return *find_sketch_template("can-backbone"); }

base::Result<circuit::Loom> read_sketch(const std::string& text) {
  return read_loom("sketch.loom.toml", [&](const std::string&) -> base::Result<std::string> { return text; });
}

circuit::Loom bus_loom_of(const SketchTemplate& which, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(which, answers);
  EXPECT_TRUE(sketched.ok()) << (sketched ? "" : base::format_diagnostics(sketched.diagnostics()));
  if (!sketched) return {};
  base::Result<circuit::Loom> loom = read_sketch(sketched->text);
  EXPECT_TRUE(loom.ok()) << (loom ? "" : base::format_diagnostics(loom.diagnostics())) << sketched->text;
  return loom ? std::move(loom).value() : circuit::Loom{};
}

std::vector<std::string> bus_codes_of(const SketchTemplate& which, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(which, answers);
  std::vector<std::string> codes;
  if (sketched) return codes;
  for (const base::Diagnostic& d : sketched.diagnostics()) codes.push_back(d.code);
  return codes;
}

std::size_t terminators_inside(const circuit::Loom& loom) {
  std::size_t count = 0;
  for (const circuit::Module& module : loom.modules) count += module.inside.size();
  return count;
}

TEST(SketchBus, NodesAloneMakeATerminatedPairWithoutAnythingOdd) {
  const circuit::Loom loom = bus_loom_of(backbone(), {{"nodes", {"VCU, DSP", "BC1,BC2"}}});
  ASSERT_EQ(loom.modules.size(), 4U);
  EXPECT_EQ(loom.modules.front().inside.size(), 1U);
  EXPECT_EQ(loom.modules.back().inside.size(), 1U);
  EXPECT_EQ(terminators_inside(loom), 2U);
  ASSERT_EQ(loom.buses.size(), 1U);
  EXPECT_EQ(loom.buses.front().bit_rate, 250.0);
  EXPECT_EQ(loom.system_volts, 24.0);
  const std::vector<base::Diagnostic> odd = circuit::find_oddities(loom);
  EXPECT_TRUE(odd.empty()) << base::format_diagnostics(odd);
}

TEST(SketchBus, EverythingToldStandsInTheLoom) {
  const circuit::Loom loom = bus_loom_of(backbone(), {{"nodes", {"VCU @ cab wall, CCU, BC1"}},
                                                      {"bit-rate", {"500"}},
                                                      {"lengths", {"2, 4m"}},
                                                      {"terminators", {"plug, inside"}},
                                                      {"plugs", {"J7:3/4 between CCU and BC1"}},
                                                      {"reader", {"X9:C/D at VCU"}},
                                                      {"codes", {"SPN 520301 FMI 9 in VCU lost BC1"}},
                                                      {"volts", {"12"}},
                                                      {"name", {"Sketch \"of\" a bus"}}});
  EXPECT_EQ(loom.name, "Sketch \"of\" a bus");
  EXPECT_EQ(loom.system_volts, 12.0);
  EXPECT_EQ(loom.buses.at(0).bit_rate, 500.0);
  EXPECT_TRUE(loom.buses.at(0).reader_high.has_value());
  EXPECT_EQ(terminators_inside(loom), 1U);
  EXPECT_TRUE(std::any_of(loom.parts.begin(), loom.parts.end(),
                          [](const auto& part) { return part.kind == circuit::PartKind::kTerminator; }));
  ASSERT_EQ(loom.codes.size(), 1U);
  EXPECT_EQ(loom.modules[loom.codes.front().lost.index()].name, "BC1");
  EXPECT_EQ(loom.places[loom.modules.front().place.index()].name, "cab wall");
  double metres = 0.0;  // high line from the first splice to the last node: both stretches
  for (const circuit::Wire& wire : loom.wires)
    if (wire.name.starts_with("CAN-high.")) metres += wire.length_m.value_or(0.0);
  EXPECT_DOUBLE_EQ(metres, 0.2 + 2.0 + 4.0);
}

TEST(SketchBus, AGatewayHasASeatOnBothBusesAndASecondPairOfTerminators) {
  const circuit::Loom loom = bus_loom_of(
      backbone(),
      {{"nodes", {"VCU, GWM, CCU"}}, {"gateway", {"GWM"}}, {"beyond", {"BC1, BC2"}}, {"beyond-bit-rate", {"125"}}});
  ASSERT_EQ(loom.buses.size(), 2U);
  EXPECT_EQ(loom.buses[1].bit_rate, 125.0);
  ASSERT_EQ(loom.modules.size(), 5U);
  EXPECT_EQ(loom.modules[1].gateway.size(), 2U);
  EXPECT_EQ(terminators_inside(loom), 4U);
}

TEST(SketchBus, ALinStringHasOneCommander) {
  const circuit::Loom loom = bus_loom_of(*find_sketch_template("lin-string"), {{"nodes", {"HVAC, flap-1, flap-2"}}});
  std::size_t commanders = 0;
  for (const circuit::Module& module : loom.modules)
    for (const circuit::ModulePin& pin : module.pins) commanders += pin.commander;
  EXPECT_EQ(commanders, 1U);
  EXPECT_EQ(loom.buses.at(0).kind, circuit::BusKind::kLin);
}

TEST(SketchBus, BadAnswersAreSaidAllAtOnce) {
  using Codes = std::vector<std::string>;
  EXPECT_EQ(bus_codes_of(backbone(), {}), Codes{"sketch.missing-answer"});
  EXPECT_EQ(bus_codes_of(backbone(), {{"nodes", {"VCU"}}}), Codes{"sketch.too-few-nodes"});
  EXPECT_EQ(bus_codes_of(backbone(), {{"nodes", {"VCU, DSP, VCU"}}}), Codes{"sketch.same-name"});
  EXPECT_EQ(bus_codes_of(backbone(), {{"nodes", {"V.C, DSP, CCU"}}}), Codes{"sketch.bad-name"});
  EXPECT_EQ(bus_codes_of(backbone(), {{"nodes", {"VCU, DSP"}}, {"teminators", {"plug"}}}), Codes{"sketch.not-asked"});
  EXPECT_EQ(
      bus_codes_of(backbone(), {{"nodes", {"VCU, DSP, CCU"}},
                                {"lengths", {"1, 2, 3"}},
                                {"terminators", {"outside"}},
                                {"gateway", {"CCV"}},
                                {"plugs", {"J1 between VCU and CCU", "J2", "J3:4/4 between VCU and DSP"}},
                                {"reader", {"X9"}},
                                {"codes", {"SPN 1 FMI 9 in VCU lost nobody"}},
                                {"volts", {"240"}}}),
      (Codes{"sketch.bad-answer", "sketch.bad-answer", "sketch.bad-answer", "sketch.unknown-node", "sketch.bad-answer",
             "sketch.bad-answer", "sketch.bad-answer", "sketch.bad-answer", "sketch.unknown-node"}));
  EXPECT_EQ(bus_codes_of(backbone(), {{"nodes", {"VCU, GWM"}}, {"gateway", {"GWM"}}}), Codes{"sketch.missing-answer"});
}

// Names the template itself uses, and names of any script.
TEST(SketchBus, NamesOfTheTemplateMayBeTaken) {
  for (const char* nodes :
       {"BAT, S1, chassis", "G-BAT, F-S1, S1", "R1, R2, S-R1-H", "Führerhaus, 車体, кузов", "a b, c d"})
    EXPECT_EQ(bus_loom_of(backbone(), {{"nodes", {nodes}}, {"terminators", {"plug"}}}).buses.size(), 1U) << nodes;
}

// Property: whatever fits the questions makes a loom that reads without an error.
TEST(SketchBus, AnyAnswersThatFitMakeALoom) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const std::size_t count = 2 + rng.below(9);
    SketchAnswers answers;
    for (std::size_t i = 0; i < count; ++i)
      answers["nodes"].push_back("N" + std::to_string(i) +
                                 (rng.chance(0.3) ? " @ place " + std::to_string(rng.below(3)) : ""));
    const char* const ends[] = {"inside", "plug", "none", "inside, plug", "plug, none"};
    answers["terminators"] = {ends[rng.below(5)]};
    for (std::size_t i = 0; i + 1 < count; ++i)
      if (rng.chance(0.3))
        answers["plugs"].push_back("J" + std::to_string(i) + " between N" + std::to_string(i + 1) + " and N" +
                                   std::to_string(i));
    if (rng.chance(0.5)) answers["reader"] = {"X9 at N" + std::to_string(rng.below(count))};
    if (rng.chance(0.5)) {
      answers["gateway"] = {"N" + std::to_string(rng.below(count))};
      answers["beyond"] = {rng.chance(0.5) ? "B1" : "B1, B2, B3"};
      answers["beyond-terminators"] = {ends[rng.below(5)]};
    }
    const circuit::Loom loom = bus_loom_of(backbone(), answers);
    EXPECT_EQ(loom.buses.size(), answers.contains("gateway") ? 2U : 1U);
  }
}

}  // namespace
}  // namespace halfsplit::formats
