// SPDX-License-Identifier: Apache-2.0
#include "formats/run_text.h"

#include <gtest/gtest.h>

#include <string>

#include "base/rng.h"

namespace halfsplit::formats {
namespace {

TEST(RunText, HopsLinksAndAttributesWithTheirPlaces) {
  const std::string text = "BCM.A:14 -[YE 0.5mm2 bundle='left rail']-> oil lamp:1->S-5 -> B7:-";
  const RunText run = parse_run(text);
  ASSERT_TRUE(run.problems.empty());
  ASSERT_EQ(run.hops.size(), 4U);
  EXPECT_EQ(run.hops[0].text, "BCM.A:14");
  EXPECT_EQ(run.hops[1].text, "oil lamp:1");
  EXPECT_EQ(run.hops[2].text, "S-5");  // a name may hold '-'
  EXPECT_EQ(run.hops[3].text, "B7:-");
  for (const RunHop& hop : run.hops) EXPECT_EQ(text.substr(hop.offset, hop.text.size()), hop.text);
  ASSERT_EQ(run.links.size(), 3U);
  const RunLink& link = run.links[0];
  EXPECT_EQ(text.substr(link.offset, link.length), "-[YE 0.5mm2 bundle='left rail']->");
  ASSERT_EQ(link.attributes.size(), 3U);
  EXPECT_EQ(link.attributes[0].key, "");
  EXPECT_EQ(link.attributes[0].value, "YE");
  EXPECT_EQ(link.attributes[2].key, "bundle");
  EXPECT_EQ(link.attributes[2].value, "left rail");
  EXPECT_EQ(text.substr(link.attributes[2].value_at, 9), "left rail");
  EXPECT_TRUE(run.links[1].attributes.empty());
}

TEST(RunText, OverSeveralLines) {
  const RunText run = parse_run("\n  A:1\n  -[RD\n 2m]-> B:1\n");
  EXPECT_TRUE(run.problems.empty());
  ASSERT_EQ(run.hops.size(), 2U);
  EXPECT_EQ(run.hops[1].text, "B:1");
  EXPECT_EQ(run.links[0].attributes.size(), 2U);
}

TEST(RunText, OneProblemForOneSlip) {
  const struct {
    const char* text;
    std::size_t offset;
  } slips[] = {{"", 0},
               {"A", 0},
               {"-> A", 0},
               {"A ->", 3},
               {"A -> -> B", 5},
               {"A -[RD-> B", 2},
               {"A -[RD] -> B", 2},
               {"A > B", 2},
               {"A -[x='y]-> B", 6},
               {"A -[x=]-> B", 4},
               {"A -[=y]-> B", 4},
               {"A -['y']-> B", 4},
               {"A ] -> B", 2}};
  for (const auto& slip : slips) {
    const RunText run = parse_run(slip.text);
    ASSERT_EQ(run.problems.size(), 1U) << slip.text;
    EXPECT_EQ(run.problems[0].offset, slip.offset) << slip.text;
    EXPECT_FALSE(run.problems[0].hint.empty()) << slip.text;
  }
}

// Whatever the text: it ends, places stay inside, and without problems hops are one more than links.
TEST(RunText, AnyTextProperty) {
  const std::uint64_t seed = 20240611;
  SCOPED_TRACE("seed " + std::to_string(seed));
  base::Rng rng(seed);
  const std::string alphabet = "AB1:@.-->>[[]]'=/ \n\"\xC3\xA4";
  for (int round = 0; round < 20000; ++round) {
    std::string text;
    for (std::size_t n = rng.below(24); n > 0; --n) text += alphabet[rng.below(alphabet.size())];
    const RunText run = parse_run(text);
    if (run.problems.empty()) {
      ASSERT_EQ(run.hops.size(), run.links.size() + 1) << text;
    }
    for (const TextProblem& problem : run.problems) ASSERT_LE(problem.offset, text.size()) << text;
    for (const RunHop& hop : run.hops) ASSERT_EQ(text.substr(hop.offset, hop.text.size()), hop.text);
    for (const RunLink& link : run.links) ASSERT_LE(link.offset + link.length, text.size());
  }
}

}  // namespace
}  // namespace halfsplit::formats
