// SPDX-License-Identifier: Apache-2.0
// The geometry of a plan's drawing, read from what was written: boxes, words and lines keep clear of each other.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "report/hand_plans.h"
#include "report/plan_layout.h"
#include "report/svg.h"
#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

struct Extent {
  double left = 0.0, top = 0.0, right = 0.0, bottom = 0.0;
  std::string what;
};

struct Picture {
  std::vector<Extent> boxes, words, lines;
  double width = 0.0, height = 0.0;
};

std::string attribute_of(const std::string& element, const std::string& name, const std::string& otherwise) {
  const std::size_t at = element.find(" " + name + "=\"");
  if (at == std::string::npos) return otherwise;
  const std::size_t begin = at + name.size() + 3;
  return element.substr(begin, element.find('"', begin) - begin);
}

double number_of(const std::string& element, const std::string& name, const std::string& otherwise = "0") {
  return std::stod(attribute_of(element, name, otherwise));
}

Extent word_area(const std::string& element, std::string word) {
  const double size = number_of(element, "font-size", "10");
  const bool bold = attribute_of(element, "font-weight", "") == "bold";
  const double x = number_of(element, "x"), y = number_of(element, "y");
  const double width = bold ? bold_width(word, size) : text_width(word, size);
  return {x, y - 0.78 * size, x + width, y + 0.22 * size, std::move(word)};
}

// "M1 2L3 4", level or upright.
Extent line_area(const std::string& element) {
  std::string points = attribute_of(element, "d", "");
  std::replace_if(
      points.begin(), points.end(), [](char c) { return c == 'M' || c == 'L'; }, ' ');
  std::istringstream in(points);
  double x1 = 0, y1 = 0, x2 = 0, y2 = 0;
  in >> x1 >> y1 >> x2 >> y2;
  EXPECT_TRUE(x1 == x2 || y1 == y2) << element;
  const double half = number_of(element, "stroke-width") / 2.0, dx = y1 == y2 ? 0.0 : half, dy = y1 == y2 ? half : 0.0;
  return {std::min(x1, x2) - dx, std::min(y1, y2) - dy, std::max(x1, x2) + dx, std::max(y1, y2) + dy, element};
}

// An element stands on a line of its own.
Picture read_picture(const std::string& svg) {
  XmlCheck check(svg);
  EXPECT_EQ(check.run(), "");
  Picture picture;
  std::istringstream in(svg);
  bool paper = true;  // the first rectangle
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("<svg")) {
      picture.width = number_of(line, "width");
      picture.height = number_of(line, "height");
    } else if (line.starts_with("<rect")) {
      const double x = number_of(line, "x"), y = number_of(line, "y");
      if (!paper) picture.boxes.push_back({x, y, x + number_of(line, "width"), y + number_of(line, "height"), line});
      paper = false;
    } else if (line.starts_with("<path")) {
      picture.lines.push_back(line_area(line));
    } else if (line.starts_with("<text")) {
      XmlCheck text(line);
      EXPECT_EQ(text.run(), "") << line;
      picture.words.push_back(word_area(line, text.texts().front()));
    }
  }
  return picture;
}

bool meets(const Extent& a, const Extent& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

bool holds_area(const Extent& outer, const Extent& inner) {
  return outer.left <= inner.left && inner.right <= outer.right && outer.top <= inner.top &&
         inner.bottom <= outer.bottom;
}

// Every pair whose heights meet, each once.
template <typename Check>
void for_pairs(std::vector<Extent> areas, const Check& check) {
  std::sort(areas.begin(), areas.end(), [](const Extent& a, const Extent& b) { return a.top < b.top; });
  for (std::size_t i = 0; i < areas.size(); ++i)
    for (std::size_t j = i + 1; j < areas.size() && areas[j].top < areas[i].bottom; ++j) check(areas[i], areas[j]);
}

std::vector<Extent> both(std::vector<Extent> some, const std::vector<Extent>& others) {
  some.insert(some.end(), others.begin(), others.end());
  return some;
}

void expect_clear(const Picture& picture) {
  const auto apart = [](const Extent& a, const Extent& b) { EXPECT_FALSE(meets(a, b)) << a.what << "\n" << b.what; };
  const auto apart_or_within = [](const Extent& a, const Extent& b) {
    EXPECT_TRUE(!meets(a, b) || holds_area(a, b) || holds_area(b, a)) << a.what << "\n" << b.what;
  };
  const auto is_line = [](const Extent& area) { return area.what.starts_with("<path"); };
  const auto line_apart = [&](const Extent& a, const Extent& b) {
    if (is_line(a) != is_line(b)) apart(a, b);
  };
  const auto upright = [&](const Extent& a) { return is_line(a) && a.bottom - a.top > a.right - a.left; };
  const auto not_on_one_another = [&](const Extent& a, const Extent& b) {  // ends may meet in a corner
    const bool meeting = upright(a) && upright(b) && meets(a, b);
    EXPECT_LE(meeting ? std::min(a.bottom, b.bottom) - b.top : 0.0, 6.0) << a.what << "\n" << b.what;
  };
  for_pairs(picture.lines, not_on_one_another);
  for_pairs(picture.boxes, apart);
  for_pairs(picture.words, apart);
  for_pairs(both(picture.boxes, picture.words), apart_or_within);
  for_pairs(both(picture.lines, both(picture.boxes, picture.words)), line_apart);
  const Extent paper{0.0, 0.0, picture.width, picture.height, ""};
  for (const std::vector<Extent>* areas : {&picture.boxes, &picture.words, &picture.lines})
    for (const Extent& area : *areas) EXPECT_TRUE(holds_area(paper, area)) << area.what;
}

TEST(PlanSvg, NothingOverlaps) {
  for (const PlanSheet& sheet : {small_plan(), deep_plan(40), wide_plan(500), PlanSheet{}}) {
    const Picture picture = read_picture(plan_svg(sheet));
    expect_clear(picture);
    const auto steps = std::count_if(sheet.nodes.begin(), sheet.nodes.end(), [](const PlanSheetNode& node) {
      return node.kind == PlanKind::kTest || node.kind == PlanKind::kRepair;
    });
    EXPECT_EQ(picture.boxes.size(), static_cast<std::size_t>(steps));
  }
}

TEST(PlanSvg, NothingOverlapsWhateverTheNames) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    expect_clear(read_picture(plan_svg(RandomPlan(seed).make())));
  }
}

// The line that branches leave from only goes down.
TEST(PlanLayout, AStepIsLevelWithTheOneItComesFromOrBelow) {
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const PlanSheet sheet = RandomPlan(seed).make();
    const PlanOutline outline = outline_plan(sheet);
    const PlanLayout layout = lay_out_plan(sheet, outline, 10, 20);
    EXPECT_EQ(layout.places[0].x, 10);
    for (std::size_t i = 1; i < sheet.nodes.size(); ++i) {
      const PlanPlace& from = layout.places[outline.parent[i]];
      EXPECT_EQ(layout.places[i].x, from.x + kPlanBox + kPlanGap);
      EXPECT_GE(layout.places[i].y, from.y);
    }
  }
}

TEST(PlanSvg, ALongNameIsWrappedAndLosesNothing) {
  PlanSheet sheet = small_plan();
  sheet.nodes[0].act = std::string(700, 'x');
  sheet.nodes[0].branches[0].seen = std::string(300, 'y');
  const Picture picture = read_picture(plan_svg(sheet));
  expect_clear(picture);
  std::string all;
  for (const Extent& word : picture.words) all += word.what;
  EXPECT_GE(std::count(all.begin(), all.end(), 'x'), 700);
  EXPECT_GE(std::count(all.begin(), all.end(), 'y'), 300);
}

// The line that carries a branch is as heavy as its chance asks, and its percentage stands just below it.
TEST(PlanSvg, AHeavierLineIsALikelierBranch) {
  EXPECT_LT(plan_weight(0.1), plan_weight(0.2));
  EXPECT_EQ(plan_weight(std::nan("")), plan_weight(0.0));
  PlanSheet sheet = small_plan();
  sheet.nodes[0].branches[0].chance = 0.17;
  sheet.nodes[0].branches[1].chance = 0.83;
  const Picture picture = read_picture(plan_svg(sheet));
  for (const double chance : {0.17, 0.83}) {
    const std::string percent = std::to_string(std::lround(100 * chance)) + " %";
    const auto word = std::find_if(picture.words.begin(), picture.words.end(),
                                   [&](const Extent& area) { return area.what == percent; });
    ASSERT_NE(word, picture.words.end()) << percent;
    const auto over = std::find_if(picture.lines.begin(), picture.lines.end(), [&](const Extent& line) {
      return line.left < word->left && line.right > word->right && line.bottom <= word->top &&
             word->top - line.bottom < 6.0;
    });
    ASSERT_NE(over, picture.lines.end()) << percent;
    EXPECT_NEAR(over->bottom - over->top, plan_weight(chance), 0.011);
  }
}

// Nothing but ink, weaker ink and paper: no colour says healthy or faulty.
TEST(PlanSvg, UsesNoColour) {
  const std::string svg = plan_svg(small_plan());
  for (std::size_t at = svg.find("=\"#"); at != std::string::npos; at = svg.find("=\"#", at + 1)) {
    const std::string colour = svg.substr(at + 3, 6);
    EXPECT_EQ(colour.substr(0, 2), colour.substr(2, 2)) << colour;
    EXPECT_EQ(colour.substr(0, 2), colour.substr(4, 2)) << colour;
  }
}

}  // namespace
}  // namespace halfsplit::report
