// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "circuit/oddities.h"
#include "formats/loom_text.h"
#include "formats/sketch.h"

namespace halfsplit::formats {
namespace {

circuit::Loom loom_of(const char* name, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(*find_sketch_template(name), answers);
  EXPECT_TRUE(sketched.ok()) << (sketched ? "" : base::format_diagnostics(sketched.diagnostics()));
  if (!sketched) return {};
  base::Result<circuit::Loom> loom =
      read_loom("sketch.loom.toml", [&](const std::string&) -> base::Result<std::string> { return sketched->text; });
  EXPECT_TRUE(loom.ok()) << (loom ? "" : base::format_diagnostics(loom.diagnostics())) << sketched->text;
  if (!loom) return {};
  const std::vector<base::Diagnostic> odd = circuit::find_oddities(*loom);
  EXPECT_TRUE(odd.empty()) << base::format_diagnostics(odd) << sketched->text;
  return std::move(loom).value();
}

std::vector<std::string> codes_of(const char* name, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(*find_sketch_template(name), answers);
  std::vector<std::string> codes;
  if (sketched) return codes;
  for (const base::Diagnostic& d : sketched.diagnostics()) codes.push_back(d.code);
  return codes;
}

std::size_t wires_of(const circuit::Loom& loom, const std::string& run) {
  return static_cast<std::size_t>(std::count_if(loom.wires.begin(), loom.wires.end(), [&](const circuit::Wire& wire) {
    return wire.name.starts_with(run + ".");
  }));
}

TEST(SketchFeed, ALoadAloneIsFedThroughFuseAndSwitch) {
  const circuit::Loom loom = loom_of("feed", {{"load", {"P3"}}});
  EXPECT_EQ(loom.parts.size(), 4U);
  EXPECT_EQ(wires_of(loom, "feed"), 1U);
  EXPECT_EQ(loom.name, "Feed of P3");
}

TEST(SketchFeed, WithRelayPlugsAndAGroundThatComesBackThroughOneOfThem) {
  const circuit::Loom loom = loom_of("feed", {{"load", {"E1 @ roof"}},
                                              {"load-kind", {"lamp"}},
                                              {"relay", {"K3"}},
                                              {"plugs", {"J1:2, J2:4/7 @ roof edge, J3:1/2"}},
                                              {"watt", {"70W"}}});
  EXPECT_EQ(loom.connectors.size() - std::count_if(loom.connectors.begin(), loom.connectors.end(),
                                                   [](const auto& c) { return !c.part.is_none(); }),
            3);
  EXPECT_EQ(wires_of(loom, "feed"), 4U);
  EXPECT_EQ(wires_of(loom, "ground"), 3U);
}

TEST(SketchTwoWireSensor, HasCurveCodesAndLiveValue) {
  const circuit::Loom loom = loom_of("two-wire-sensor", {{"module", {"HCU @ cab"}},
                                                         {"sensor", {"B12"}},
                                                         {"curve", {"120=120, -40=50k", "20=2500"}},
                                                         {"plugs", {"J2:5/6, J5:2/3"}},
                                                         {"signal-pin", {"7"}},
                                                         {"return-pin", {"8"}},
                                                         {"code-high", {"SPN 520210 FMI 3"}},
                                                         {"code-low", {"SPN 520210 FMI 4"}}});
  EXPECT_EQ(loom.codes.size(), 2U);
  ASSERT_EQ(loom.lives.size(), 1U);
  EXPECT_EQ(loom.lives.front().low, -40.0);
  EXPECT_EQ(loom.lives.front().high, 120.0);
  EXPECT_EQ(wires_of(loom, "signal"), 3U);
  EXPECT_EQ(wires_of(loom, "return"), 3U);
}

TEST(SketchCircuits, BadAnswersAreSaid) {
  using Codes = std::vector<std::string>;
  EXPECT_EQ(codes_of("feed", {}), Codes{"sketch.missing-answer"});
  EXPECT_EQ(codes_of("feed", {{"load", {"P3"}}, {"fuse", {"P3"}}, {"load-kind", {"pump"}}, {"watt", {"much"}}}),
            (Codes{"sketch.bad-answer", "sketch.same-name", "sketch.bad-answer"}));
  EXPECT_EQ(codes_of("two-wire-sensor", {{"module", {"M"}},
                                         {"sensor", {"B"}},
                                         {"curve", {"1=1, 1=2"}},
                                         {"plugs", {"J1:5", "J2:3/3"}},
                                         {"return-pin", {"1"}}}),
            (Codes{"sketch.bad-answer", "sketch.bad-answer", "sketch.bad-answer", "sketch.bad-answer"}));
}

}  // namespace
}  // namespace halfsplit::formats
