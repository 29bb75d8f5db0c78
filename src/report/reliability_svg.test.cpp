// SPDX-License-Identifier: Apache-2.0
#include "report/reliability_svg.h"

#include <gtest/gtest.h>

#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

ReliabilityDrawing drawing() {
  ReliabilityDrawing d;
  for (int i = 0; i < 100; ++i) d.claims.add(0.52, i < 30);
  for (int i = 0; i < 10; ++i) d.claims.add(0.98, true);
  d.title = "Said & true";
  d.note = "ten < a hundred";
  d.about = "Two points.";
  return d;
}

TEST(ReliabilitySvg, IsWellFormedWithTitleAndDescription) {
  const std::string svg = draw_reliability(drawing());
  EXPECT_EQ(XmlCheck(svg).run(), "");
  EXPECT_NE(svg.find("<title>Said &amp; true</title>"), std::string::npos);
  EXPECT_NE(svg.find("Two points."), std::string::npos);
}

// Said 52 % and so in 30 %: across 84 + 0.52 * 440, up from 516 by 0.3 * 440; and its count in words.
TEST(ReliabilitySvg, APointStandsWhereItsBinSays) {
  const std::string svg = draw_reliability(drawing());
  EXPECT_NE(svg.find("cx=\"313\" cy=\"384\""), std::string::npos);
  EXPECT_NE(svg.find("said 52 %, was so 30 %, 100 claims"), std::string::npos);
  EXPECT_NE(svg.find(">100<"), std::string::npos);
}

TEST(ReliabilitySvg, OfNothingIsTheAxes) {
  const std::string svg = draw_reliability({});
  EXPECT_EQ(XmlCheck(svg).run(), "");
  EXPECT_EQ(svg.find("claims"), std::string::npos);
}

}  // namespace
}  // namespace halfsplit::report
