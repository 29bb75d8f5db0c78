// SPDX-License-Identifier: Apache-2.0
#include "formats/path_guess.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "formats/loom_text.h"
#include "formats/path_text.h"
#include "formats/sketch.h"

namespace halfsplit::formats {
namespace {

std::string first_of(std::string_view text, const circuit::Loom* loom = nullptr) {
  const std::vector<PathGuess> guesses = guess_path(text, loom, 8);
  return guesses.empty() ? "" : guesses.front().append;
}

TEST(PathGuess, TheSameWayAsBeforeOneCavityFurther) {
  EXPECT_EQ(first_of("HCU:7 -[YE 0.5mm2]-> J2:5 -> J5:2 -> B12\nHCU:8 -[GN 0.5mm2]-> J2:6"), " -[GN 0.5mm2]-> J5:3");
  EXPECT_EQ(first_of("HCU:7 -> J2:5 -> J5:2 -> B12\n"), "HCU:8");
  EXPECT_EQ(first_of("HCU:7 -> J2:5 -> J5:2 -> B12\nHCU:8 -> J2:6 -> J5:3"), " -> B12:2");
}

TEST(PathGuess, AWireGoesOnThroughAPlug) {
  EXPECT_EQ(first_of("HCU:7 -[YE 0.5mm2]-> J2:5"), " -[YE 0.5mm2]-> J3:5");
  EXPECT_EQ(first_of("HCU:7 -[YE 0.5mm2]-> J2:5 ->"), " J3:5");
}

TEST(PathGuess, WhatUsuallyFollows) {
  EXPECT_EQ(first_of(""), "F1");
  EXPECT_EQ(first_of("BAT"), " -> F1");
  EXPECT_EQ(first_of("F3 -> S1 -> E1"), " -> G1");
  EXPECT_EQ(first_of("F3 -> S1 -> J4:1 -> E1; E"), "2");
}

TEST(PathGuess, PlugsOfTheLoomThatIsExtended) {
  const auto loom = read_loom_text("t", R"(
loom = 1
name = "t"
[connectors.X7]
sides = ["a", "b"]
[modules.M]
[runs]
r = "M:1 -> X7:1 -> chassis"
)");
  ASSERT_TRUE(loom.ok());
  EXPECT_EQ(first_of("HCU:1", &*loom), " -> X7:2");
  EXPECT_EQ(first_of("", &*loom), "M:2");
}

TEST(PathGuess, TheGroundMayGoBackThroughThePlugItCameBy) {
  const std::vector<PathGuess> guesses = guess_path("F1 -> S1 -> J1:1 -> E1", nullptr, 8);
  ASSERT_GE(guesses.size(), 2U);
  EXPECT_EQ(guesses[0].hop, "G1");
  EXPECT_EQ(guesses[1].hop, "J1:2");
}

TEST(PathGuess, WherePathsEnd) {
  for (const char* ended : {"F1 -> E1 -> chassis", "F1 -> E1 -> G1 -> chassis -> BAT:-", "ECU.A:1 -> J1:1 -> B1",
                            "ECU.A:1 -> B1; B1 -> J1:2 -> ECU.A:2"})
    EXPECT_TRUE(usually_ends(ended)) << ended;
  for (const char* open : {"", "F1", "chassis", "B1", "ECU.A:1", "F1 -> J1:1", "F1 -> E1", "ECU.A:1 -> B1;",
                           "ECU.A:1 -> B1 ->", "ECU.A:1 -> B1; B1"})
    EXPECT_FALSE(usually_ends(open)) << open;
}

// Whoever takes the first guess again and again comes to an end, and what is typed then is a loom.
TEST(PathGuess, FirstGuessesAloneComeToAnEndThatIsALoom) {
  for (const std::string begun : {"", "battery", "F7", "ECU.A:7", "ECU.A:7 -> J2:5 -> J5:2 -> B1\nECU.A:8"}) {
    std::string text = begun;
    int taken = 0;
    for (; taken < 8 && !usually_ends(text); ++taken) text += first_of(text);
    EXPECT_TRUE(usually_ends(text)) << text;
    const SketchTemplate* const path = find_sketch_template("path");
    ASSERT_NE(path, nullptr);
    EXPECT_TRUE(sketch_loom(*path, {{"path", split_paths(text)}}).ok()) << text;
  }
}

// Whatever is typed: no crash, weights that add up, and what is proposed parses.
TEST(PathGuess, AnyTextGivesHopsThatParse) {
  const std::string letters = "FJ12:->[]@ ;\n(ab";
  base::Rng rng(3);
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    for (std::size_t i = rng.below(24); i > 0; --i) text += letters[rng.below(letters.size())];
    SCOPED_TRACE(text);
    double sum = 0.0;
    for (const PathGuess& one : guess_path(text, nullptr, 6)) {
      sum += one.weight;
      EXPECT_TRUE(parse_path("F1 -> " + one.hop).problems.empty()) << one.hop;
    }
    EXPECT_NEAR(sum, 1.0, 1e-9);
  }
}

}  // namespace
}  // namespace halfsplit::formats
