// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "base/rng.h"
#include "circuit/oddities.h"
#include "formats/loom_text.h"
#include "formats/path_text.h"
#include "formats/sketch.h"

namespace halfsplit::formats {
namespace {

struct Drawn {
  std::string text;
  circuit::Loom loom;
};

// What a template makes reads without an error, and `check` finds nothing odd about it.
Drawn drawn(const SketchTemplate& which, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(which, answers);
  EXPECT_TRUE(sketched.ok()) << which.name << (sketched ? "" : base::format_diagnostics(sketched.diagnostics()));
  if (!sketched) return {};
  base::Result<circuit::Loom> loom =
      read_loom("sketch.loom.toml", [&](const std::string&) -> base::Result<std::string> { return sketched->text; });
  EXPECT_TRUE(loom.ok()) << (loom ? "" : base::format_diagnostics(loom.diagnostics())) << sketched->text;
  if (!loom) return {};
  const std::vector<base::Diagnostic> odd = circuit::find_oddities(*loom);
  EXPECT_TRUE(odd.empty()) << which.name << "\n" << base::format_diagnostics(odd) << sketched->text;
  EXPECT_FALSE(sketched->assumed.empty());
  return {sketched->text, std::move(loom).value()};
}

Drawn drawn(const char* name, const SketchAnswers& answers) { return drawn(*find_sketch_template(name), answers); }

std::string first_error(const char* name, const SketchAnswers& answers) {
  const base::Result<Sketched> sketched = sketch_loom(*find_sketch_template(name), answers);
  return sketched ? "" : sketched.diagnostics().front().message;
}

const circuit::Connector& plug_of(const circuit::Loom& loom, const std::string& name) {
  return *std::find_if(loom.connectors.begin(), loom.connectors.end(), [&](const auto& c) { return c.name == name; });
}

TEST(SketchTemplates, TheExampleOfEachQuestionWorks) {
  for (const SketchTemplate& one : sketch_templates()) {
    SketchAnswers needed, all;
    for (const SketchQuestion& question : one.questions) {
      ASSERT_FALSE(question.example.empty()) << one.name << " " << question.name;
      all[std::string(question.name)] = {std::string(question.example)};
      if (question.required) needed[std::string(question.name)] = {std::string(question.example)};
    }
    ASSERT_FALSE(needed.empty()) << one.name;
    drawn(one, needed);
    // The bus examples name their nodes in every question; plugs between others are tested in sketch_bus.
    drawn(one, all);
  }
}

TEST(SketchTemplates, EachQuestionSaysHowItIsAnswered) {
  for (const SketchTemplate& one : sketch_templates()) {
    EXPECT_FALSE(one.title.empty() || one.use.empty() || one.summary.empty()) << one.name;
    for (const SketchQuestion& question : one.questions) {
      const bool words = question.kind == SketchAnswerKind::kChoice || question.kind == SketchAnswerKind::kYesNo;
      EXPECT_EQ(words, !question.choices.empty()) << one.name << " " << question.name;
      EXPECT_TRUE(!words || question.choices.find(question.fallback) != std::string_view::npos) << question.name;
    }
  }
}

// Each word of each choice draws something.
TEST(SketchTemplates, EveryChoiceWorks) {
  for (const SketchTemplate& one : sketch_templates())
    for (const SketchQuestion& question : one.questions)
      for (std::size_t from = 0; from < question.choices.size();) {
        const std::size_t blank = std::min(question.choices.find(' ', from), question.choices.size());
        SketchAnswers answers;
        for (const SketchQuestion& other : one.questions)
          if (other.required) answers[std::string(other.name)] = {std::string(other.example)};
        answers[std::string(question.name)] = {std::string(question.choices.substr(from, blank - from))};
        SCOPED_TRACE(answers[std::string(question.name)].front());
        drawn(one, answers);
        from = blank + 1;
      }
}

TEST(SketchThreeWire, ASignalIsAShareOfTheSupply) {
  const Drawn made = drawn("three-wire-sensor", {{"module", {"HCU"}},
                                                 {"sensor", {"B7"}},
                                                 {"curve", {"0=0.5, 10=4.5"}},
                                                 {"unit", {"bar"}},
                                                 {"plugs", {"J2:5/6/7, J5:1/2/3"}},
                                                 {"pull-down", {"100k"}}});
  const auto& lives = made.loom.lives;
  ASSERT_EQ(lives.size(), 1U);
  EXPECT_EQ(lives.front().high, 10.0);
  EXPECT_NE(made.text.find("curve = [[0, 0.1"), std::string::npos) << made.text;
  EXPECT_NE(made.text.find("pull_down_ohm = 100000"), std::string::npos);
  EXPECT_EQ(first_error("three-wire-sensor", {{"module", {"M"}}, {"sensor", {"B"}}, {"plugs", {"J5:2/3"}}}),
            "plugs: \"J5:2/3\" does not name its cavities");
  EXPECT_EQ(first_error("three-wire-sensor", {{"module", {"M"}}, {"sensor", {"B"}}, {"ground-pin", {"1"}}}),
            "ground-pin: \"1\" is another of the three wires' pin as well");
}

TEST(SketchGround, AStrapBetweenEachTwoMetals) {
  const Drawn made =
      drawn("ground-path", {{"load", {"E1"}}, {"metals", {"body, subframe, frame"}}, {"others", {"E2, E3"}}});
  EXPECT_EQ(made.loom.frames.size(), 3U);
  EXPECT_EQ(made.loom.studs.size(), 6U);  // the load's, two at each strap, the battery's
  EXPECT_EQ(made.loom.parts.size(), 6U);
}

TEST(SketchPath, WhatIsLeftOpenIsClosed) {
  const Drawn lamp = drawn("path", {{"path", {"F3 -> S1 -> J4:3 -> E1"}}});
  EXPECT_NE(lamp.text.find("\"feed of F3\" = \"BAT:+ -[1mm2]-> F3:1\"  # assumed"), std::string::npos) << lamp.text;
  EXPECT_NE(lamp.text.find("\"ground of E1\""), std::string::npos);
  const Drawn bus = drawn("path", {{"path", {"VCU:12 -> J7:3 -> DSP:4; VCU:13 -> J7:4 -> DSP:5"}}});
  EXPECT_EQ(bus.loom.modules.size(), 2U);
  EXPECT_TRUE(bus.loom.parts.empty());
  const Drawn open = drawn("path", {{"path", {"J2:5 -[YE 0.5mm2]-> SP1 -> J3:1"}}});
  EXPECT_EQ(open.loom.modules.size(), 2U) << open.text;
  const Drawn relay = drawn("path", {{"path", {"F3 (fuse 40A) -> K1 -> M3 (motor 400W) -> chassis"}}});
  EXPECT_NE(relay.text.find("driver of K1"), std::string::npos);
  EXPECT_NE(relay.text.find("-[4mm2]->"), std::string::npos) << relay.text;
}

TEST(SketchPath, APlugIsMetFromTheSideThePathComesFrom) {
  const Drawn made = drawn("path", {{"path", {"HCU:7 -> J2:5 -> J5:2 -> B12", "B12 -> J5:3 -> J2:6 -> HCU:8"}}});
  EXPECT_NE(made.text.find("path-2 = \"B12:2 -[1mm2]-> J5:3@B12 -[1mm2]-> J2:6@J5 -[1mm2]-> HCU:8\""),
            std::string::npos)
      << made.text;
  const circuit::Connector& plug = plug_of(made.loom, "J2");
  EXPECT_EQ(plug.sides[0], "HCU");
  EXPECT_EQ(plug.sides[1], "J5");
}

TEST(SketchPath, KindsAndValuesInBracketsAreTaken) {
  const Drawn made =
      drawn("path", {{"path", {"HCU.A:7 (input) -> J2:5 @cab, left thing (sensor 2k2), HCU.A:8 (return)"}},
                     {"places", {"left thing @ tank"}}});
  EXPECT_NE(made.text.find("\"A:7\" = { role = \"input\", pull_up_ohm = \"2k2\" }"), std::string::npos) << made.text;
  EXPECT_NE(made.text.find("[30, 2200]"), std::string::npos);
  EXPECT_NE(made.text.find("place = \"tank\"\n"), std::string::npos);
}

TEST(SketchPath, WhatDoesNotFitIsSaid) {
  EXPECT_EQ(first_error("path", {{"path", {"F3"}}}), "path: \"F3\" is one hop and no way");
  EXPECT_EQ(first_error("path", {{"path", {"F3 -> -> E1"}}}), "path: there is no hop between two wires, at \"-> E1\"");
  EXPECT_EQ(first_error("path", {{"path", {"F3 (fues) -> E1"}}}),
            "path: \"fues\" is no kind of thing a path can come to, at \"F3 (fues) -> E1\"");
  EXPECT_EQ(first_error("path", {{"path", {"F3 -[XX 1mm2]-> E1"}}}), "path: \"XX\" is no colour code");
  EXPECT_EQ(first_error("path", {{"path", {"F3 -> HCU.A:1 -> E1"}}}),
            "path: module HCU stands in the middle of a path");
  EXPECT_EQ(first_error("path", {{"path", {";;"}}}), "path: there is no path");
}

// Whatever is typed comes out as a loom that reads, or as errors.
TEST(SketchPath, AnythingTypedIsALoomOrAnError) {
  const std::vector<std::string> pieces{
      "F3", "S1",  "K1:30/87", "J4:3",  "J4:4",  "J5:2@rear",      "E1", "E1:2", "B7", "chassis",      "30",
      "G1", "SP1", "HCU.A:7",  "DSP:1", "thing", "M1 (motor 90W)", "V1", "BAT",  "->", "-[RD 1mm2]->", ">",
      ",",  ";",   " - ",      "("};
  base::Rng rng(7);
  for (int round = 0; round < 600; ++round) {
    std::string path;
    const std::size_t hops = 2 + rng.below(6);
    for (std::size_t i = 0; i < hops; ++i) {
      path += pieces[rng.below(19)] + " ";
      path += i + 1 == hops ? "" : rng.below(12) == 0 ? pieces[rng.below(pieces.size())] + " " : "-> ";
    }
    SCOPED_TRACE(path);
    const base::Result<Sketched> sketched = sketch_loom(*find_sketch_template("path"), {{"path", {path}}});
    if (!sketched) {
      for (const base::Diagnostic& said : sketched.diagnostics()) EXPECT_FALSE(said.message.empty());
      continue;
    }
    const auto loom = read_loom("t", [&](const std::string&) -> base::Result<std::string> { return sketched->text; });
    EXPECT_TRUE(loom.ok()) << sketched->text;
  }
}

}  // namespace
}  // namespace halfsplit::formats
