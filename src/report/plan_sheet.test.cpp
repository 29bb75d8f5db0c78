// SPDX-License-Identifier: Apache-2.0
#include "report/plan_sheet.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <sstream>

#include "base/check.h"
#include "report/columns.h"
#include "report/hand_plans.h"
#include "report/plan_words.h"
#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

bool has(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

std::size_t times(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++count;
  return count;
}

// What a reader of the page or the drawing sees, between the tags; one blank for every gap.
std::string flowing_text(const std::string& text) {
  std::istringstream in(text);
  std::string out, word;
  while (in >> word) out += word + " ";
  return out;
}

std::string read_by_people(const std::string& xml) {
  XmlCheck check(xml);
  EXPECT_EQ(check.run(), "");
  std::string out;
  for (const std::string& text : check.texts()) out += text + " ";
  return flowing_text(out);
}

std::vector<std::string> all_forms(const PlanSheet& sheet) {
  return {flowing_text(plan_text(sheet)), read_by_people(plan_svg(sheet)), read_by_people(plan_html(sheet))};
}

TEST(PlanText, IsWhatIsTakenToTheVehicle) {
  EXPECT_EQ(plan_text(small_plan()),
            R"(================================================================================
Plan
================================================================================
Vehicle      Demo tipper (invented)
Complaint    left tail lamp dark
Drawing      tail lamps
Time         about 42 min to a proven repair, with everything put back; half of
             such jobs take at most 37 min, 95 in 100 at most 1 h 32 min
How good     at most 4 % above the best possible plan

--------------------------------------------------------------------------------
1   Test     volts J4:12@cab chassis
    Caution  ! Cab raised: lock the strut.
    First    cab-raised (4 min), then unplug J4 (1 min)
    Takes    6 min in all; from here to the end about 42 min
    [ ] below 2.1 V     54 %  go to 2; likely then: J8:2 open 64 %
    [ ] 2.1 V or more   46 %  go to 3
--------------------------------------------------------------------------------
2   Repair   crimp J8:2 anew
    Proof    plug J4, then key-on, then see whether it is mended
    Takes    12 min in all; from here to the end about 16 min
    From     1 (below 2.1 V); 54 % of such jobs come here, after 6 min
    [ ] mended       99 %  done; put back: undo key-on, then undo cab-raised (4
                           min)
                           ! Nobody in front of the cab.
    [ ] not mended    1 %  not printed: 0.3 % of such jobs, about 35 min more;
                           likely then: K4 stuck 40 %
--------------------------------------------------------------------------------
3   Repair   replace relay K4
    Parts    18.50
    Proof    see whether it is mended
    Takes    less than 1 min in all; from here to the end about 4 min
    From     1 (2.1 V or more); 46 % of such jobs come here, after 6 min
    [ ] mended  >99 %  done; nothing to put back
--------------------------------------------------------------------------------
- A return visit is not counted.
- 0.3 % of such jobs come to a branch that goes on and is not printed (what
  fewer than 0.5 % of such jobs come to). There, enter what was seen and ask for
  the next test.
Chances are reckoned from what is known so far and the drawing that was used;
they are never a certainty, and the fault may be one that is not on this
drawing. The vehicle maker's instructions and the local rules come first.
)");
}

TEST(PlanSheet, EveryFormSaysWhatToDo) {
  for (const std::string& form : all_forms(small_plan()))
    for (const char* words : {"Demo tipper (invented)",
                              "left tail lamp dark",
                              "about 42 min to a proven repair",
                              "at most 37 min",
                              "95 in 100 at most 1 h 32 min",
                              "at most 4 % above the best possible plan",
                              "cab-raised (4 min)",
                              "unplug J4 (1 min)",
                              "Cab raised: lock the strut.",
                              "Test",
                              "volts J4:12@cab chassis",
                              "below 2.1 V",
                              "likely",
                              "J8:2 open 64 %",
                              "54 %",
                              "46 %",
                              "Repair",
                              "crimp J8:2 anew",
                              "plug J4, then key-on, then see whether it is mended",
                              "18.50",
                              "done; put back: undo key-on, then undo cab-raised (4 min)",
                              "Nobody in front of the cab.",
                              "done; nothing to put back",
                              "A return visit is not counted.",
                              "The vehicle maker's instructions and the local rules come first."})
      EXPECT_TRUE(has(form, words)) << words << "\n" << form;
}

TEST(PlanSheet, ACutBranchSaysItsChanceAndWhatItCosts) {
  for (const std::string& form : all_forms(small_plan())) {
    EXPECT_TRUE(has(form, "not printed: 0.3 % of such jobs, about 35 min more")) << form;
    EXPECT_TRUE(has(form,
                    "0.3 % of such jobs come to a branch that goes on and is not printed (what fewer than 0.5 % "
                    "of such jobs come to)"))
        << form;
  }
  PlanSheet whole = small_plan();
  whole.nodes[3].kind = PlanKind::kEnd;
  whole.cut_chance = 0.0;
  for (const std::string& form : all_forms(whole)) EXPECT_FALSE(has(form, "not printed")) << form;
}

TEST(PlanSheet, MoneyIsSaidOnlyWhereThereIsSome) {
  for (const std::string& form : all_forms(small_plan())) {
    EXPECT_EQ(times(form, "Parts"), 1U);
    EXPECT_FALSE(has(form, "0.00"));
  }
}

TEST(PlanSheet, HowGoodItIs) {
  PlanSheet sheet = small_plan();
  EXPECT_EQ(plan_goodness(sheet), "at most 4 % above the best possible plan");
  sheet.expected_minutes = 41.7;  // 4.25 %: rounded up, or it would be untrue
  EXPECT_EQ(plan_goodness(sheet), "at most 5 % above the best possible plan");
  sheet.expected_minutes = 40.0;
  EXPECT_EQ(plan_goodness(sheet), "at most 1 % above the best possible plan");
  sheet.expected_minutes = 4.0e4;
  EXPECT_EQ(plan_goodness(sheet), "at most 99900 % above the best possible plan");
  sheet.lower_bound_minutes = 0.0;
  EXPECT_EQ(plan_goodness(sheet), "no bound known");
  sheet.lower_bound_minutes = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(plan_goodness(sheet), "no bound known");
  sheet.exact = true;
  for (const std::string& form : all_forms(sheet)) {
    EXPECT_TRUE(has(form, "exact: no plan is cheaper with these tests"));
    EXPECT_FALSE(has(form, "above the best"));
  }
}

// As whole numbers: "<1 %" counts 0, ">99 %" 100.
long percents_sum(const std::vector<std::string>& words) {
  long sum = 0;
  for (const std::string& one : words) sum += one == "<1 %" ? 0 : one == ">99 %" ? 100 : std::stol(one);
  return sum;
}

TEST(PlanWords, PercentagesOfAStepAddUp) {
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    PlanSheetNode node;
    double sum = 0.0;
    for (std::size_t count = 1 + rng.below(12); count > 0; --count)
      node.branches.push_back(plan_branch("x", rng.log_uniform(1e-4, 1.0), 1));
    for (const PlanSheetBranch& branch : node.branches) sum += branch.chance;
    for (PlanSheetBranch& branch : node.branches) branch.chance /= sum;
    const std::vector<std::string> words = branch_percents(node);
    EXPECT_EQ(percents_sum(words), 100);
    for (std::size_t i = 0; i < words.size(); ++i)
      EXPECT_LE(std::fabs(static_cast<double>(percents_sum({words[i]})) - 100.0 * node.branches[i].chance), 1.0);
  }
}

TEST(PlanWords, PercentagesAddUpInTheText) {
  PlanSheet sheet = wide_plan(3);
  const std::string text = plan_text(sheet);
  EXPECT_EQ(times(text, "   34 %  go to"), 1U) << text;
  EXPECT_EQ(times(text, "   33 %  go to"), 2U) << text;
}

TEST(PlanWords, NeverAndAlwaysAreNotSaid) {
  PlanSheetNode node;
  node.branches = {plan_branch("a", 1.0, 1), plan_branch("b", 0.0, 2),
                   plan_branch("c", std::numeric_limits<double>::quiet_NaN(), 3)};
  EXPECT_EQ(branch_percents(node), (std::vector<std::string>{">99 %", "<1 %", "<1 %"}));
  EXPECT_EQ(share_words(1.0), "above 99 %");
  EXPECT_EQ(share_words(0.0), "below 0.1 %");
  EXPECT_EQ(share_words(0.0996), "10 %");
  EXPECT_EQ(share_words(0.0994), "9.9 %");
  EXPECT_EQ(share_words(std::numeric_limits<double>::infinity()), "an unknown share");
}

TEST(PlanWords, AShortStepIsNotSaidToTakeNoTime) {
  EXPECT_EQ(step_minutes(0.3), "less than 1 min");
  EXPECT_EQ(step_minutes(0.0), "0 min");
  EXPECT_EQ(step_minutes(61.0), "1 h 1 min");
}

// Node 2's branches come after node 1's in the list, but node 1's are read first.
TEST(PlanOutline, ReadsABranchToItsEndBeforeTheNext) {
  PlanSheet sheet;
  for (const char* act : {"A", "B", "C", "D", "E"}) sheet.nodes.push_back(plan_node(PlanKind::kTest, act));
  sheet.nodes[0].branches = {plan_branch("x", 0.5, 1), plan_branch("y", 0.5, 2)};
  sheet.nodes[2].branches = {plan_branch("x", 1.0, 3)};
  sheet.nodes[1].branches = {plan_branch("x", 1.0, 4)};
  const PlanOutline outline = outline_plan(sheet);
  EXPECT_EQ(outline.order, (std::vector<std::size_t>{0, 1, 4, 2, 3}));
  EXPECT_EQ(outline.number, (std::vector<std::size_t>{1, 2, 4, 5, 3}));
  EXPECT_EQ(outline.depth, (std::vector<std::size_t>{0, 1, 1, 2, 2}));
  EXPECT_EQ(outline.parent[4], 1U);
}

TEST(PlanOutline, WhatIsNoTreeIsOurBug) {
  PlanSheet sheet = small_plan();
  sheet.nodes[1].branches[0].node = 99;
  EXPECT_THROW((void)outline_plan(sheet), base::Bug);
  sheet.nodes[1].branches[0].node = 0;
  EXPECT_THROW((void)outline_plan(sheet), base::Bug);
  sheet.nodes[1].branches[0].node = 3;  // in two branches
  EXPECT_THROW((void)outline_plan(sheet), base::Bug);
  sheet = small_plan();
  sheet.nodes.push_back(plan_node(PlanKind::kEnd, ""));  // in none
  EXPECT_THROW((void)outline_plan(sheet), base::Bug);
}

// "n12q": the marks of nodes, as they come.
std::vector<std::size_t> marks_in(const std::string& text) {
  std::vector<std::size_t> marks;
  std::istringstream in(text);
  for (char c = 0; in.get(c);) {
    std::size_t node = 0;
    if (c != 'n' || !std::isdigit(in.peek())) continue;
    if (in >> node && in.peek() == 'q') marks.push_back(node);
    in.clear();
  }
  return marks;
}

TEST(PlanSheet, EveryNodeAppearsOnceInReadingOrder) {
  for (PlanSheet sheet : {deep_plan(40), wide_plan(500), small_plan()}) {
    for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
      PlanSheetNode& node = sheet.nodes[i];
      const std::string mark = "n" + std::to_string(i) + "q";
      if (node.kind == PlanKind::kEnd)
        node.first = {mark};
      else
        (node.kind == PlanKind::kCut ? node.cautions.emplace_back() : node.act) = mark;
    }
    const PlanOutline outline = outline_plan(sheet);
    const auto is_goal = [&](std::size_t node) { return outline.number[node] == 0; };
    std::vector<std::size_t> steps = outline.order, nodes = outline.order;
    std::erase_if(steps, is_goal);
    std::sort(nodes.begin(), nodes.end());
    for (const std::string& form : all_forms(sheet)) {
      std::vector<std::size_t> marks = marks_in(form), in_order = marks;
      std::erase_if(in_order, is_goal);
      EXPECT_EQ(in_order, steps);
      std::sort(marks.begin(), marks.end());
      EXPECT_EQ(marks, nodes);
    }
  }
}

// "go to 4" names a step that is there, and that step says where it is reached from.
TEST(PlanSheet, EveryStepIsReachedByItsNumber) {
  const PlanSheet sheet = deep_plan(9);
  const std::string text = plan_text(sheet), page = plan_html(sheet);
  for (std::size_t step = 2; step <= 9; ++step) {
    const std::string number = std::to_string(step);
    EXPECT_EQ(times(text, "go to " + number + "\n"), 1U) << text;
    EXPECT_TRUE(has(text, "\n" + number + "   Test"));
    EXPECT_TRUE(has(text, std::to_string(step - 1) + " (above); "));
    EXPECT_EQ(times(page, "href=\"#step-" + number + "\">go to " + number + "</a>"), 1U);
    EXPECT_EQ(times(page, "id=\"step-" + number + "\""), 1U);
  }
}

TEST(PlanSheet, OfNothingSaysSo) {
  for (const std::string& form : all_forms({})) {
    EXPECT_TRUE(has(form, "There is nothing to do: the plan has no step."));
    EXPECT_TRUE(has(form, "no bound known"));
  }
}

TEST(PlanSheet, OfOneNodeIsThatNode) {
  PlanSheet sheet;
  sheet.nodes = {plan_node(PlanKind::kTest, "look L1")};
  for (const std::string& form : all_forms(sheet)) EXPECT_EQ(times(form, "look L1"), 1U);
  sheet.nodes = {plan_node(PlanKind::kCut, "")};
  for (const std::string& form : all_forms(sheet)) EXPECT_TRUE(has(form, "not printed: above 99 %"));
  sheet.nodes = {plan_node(PlanKind::kEnd, "")};
  sheet.nodes[0].cautions = {"Mind the step."};
  for (const std::string& form : all_forms(sheet)) {
    EXPECT_TRUE(has(form, "done; nothing to put back"));
    EXPECT_TRUE(has(form, "Mind the step."));
  }
}

TEST(PlanSheet, NamesAreShownAsTyped) {
  const std::string evil = "</p><script>alert('1')</script>&amp;\"";
  PlanSheet sheet = small_plan();
  sheet.vehicle = sheet.complaint = sheet.loom = evil;
  sheet.notes = {evil};
  for (PlanSheetNode& node : sheet.nodes) {
    node.act = evil;
    node.first = node.to_prove = node.cautions = {evil};
    for (PlanSheetBranch& branch : node.branches) branch.seen = branch.then_likely = evil;
  }
  for (const std::string& xml : {plan_svg(sheet), plan_html(sheet)}) {
    EXPECT_FALSE(has(xml, "<script"));
    EXPECT_FALSE(has(xml, "</p><"));
  }
  EXPECT_GE(times(read_by_people(plan_html(sheet)), evil), 20U);
  EXPECT_GE(times(read_by_people(plan_svg(sheet)), evil), 4U);
}

TEST(PlanSheet, StrangeWordsDoNoHarm) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const PlanSheet sheet = RandomPlan(seed).make();
    EXPECT_EQ(XmlCheck(plan_svg(sheet)).run(), "");
    EXPECT_EQ(XmlCheck(plan_html(sheet)).run(), "");
    std::istringstream text(plan_text(sheet));
    for (std::string line; std::getline(text, line);) {
      EXPECT_LE(column_count(line), 80U) << line;
      for (const char c : line) EXPECT_GE(static_cast<unsigned char>(c), 0x20U);
    }
  }
}

TEST(PlanSheet, IsTheSameEveryTime) {
  const PlanSheet sheet = RandomPlan(7).make();
  EXPECT_EQ(plan_text(sheet), plan_text(sheet));
  EXPECT_EQ(plan_svg(sheet), plan_svg(sheet));
  EXPECT_EQ(plan_html(sheet), plan_html(sheet));
}

TEST(PlanHtml, NeedsNothingElse) {
  const std::string page = plan_html(small_plan());
  for (const char* outside : {"<script", "http:", "https:", "url(", "@import", "src=", "<link", "href=\"/", "onclick"})
    EXPECT_FALSE(has(page, outside)) << outside;
  EXPECT_TRUE(has(page, "default-src &#39;none&#39;"));
  EXPECT_EQ(times(page, "<h1"), 1U);
}

double luminance(const std::string& colour) {
  double sum = 0.0;
  const double parts[] = {0.2126, 0.7152, 0.0722};
  const std::size_t digits = colour.size() == 4 ? 1 : 2;
  for (std::size_t i = 0; i < 3; ++i) {
    std::string hex = colour.substr(1 + i * digits, digits);
    if (digits == 1) hex += hex;
    const double value = std::stoi(hex, nullptr, 16) / 255.0;
    sum += parts[i] * (value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4));
  }
  return sum;
}

double contrast(const std::string& a, const std::string& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

// WCAG 2.1: 1.4.3 (text 4.5), 1.4.11 (borders 3); its formulas of relative luminance and contrast ratio.
TEST(PlanHtml, ContrastIsEnoughByDayAndNight) {
  EXPECT_NEAR(contrast("#000", "#ffffff"), 21.0, 1e-9);
  const std::string page = plan_html(small_plan());
  std::size_t at = 0;
  for (int scheme = 0; scheme < 2; ++scheme) {
    std::vector<std::string> colours;
    for (const char* name : {"--ink: ", "--paper: ", "--quiet: ", "--line: ", "--link: "}) {
      at = page.find(name, at);
      ASSERT_NE(at, std::string::npos) << name;
      at += std::string(name).size();
      colours.push_back(page.substr(at, page.find(';', at) - at));
    }
    for (const std::size_t text : {0U, 2U, 4U}) EXPECT_GE(contrast(colours[text], colours[1]), 4.5) << colours[text];
    EXPECT_GE(contrast(colours[3], colours[1]), 3.0);
  }
}

}  // namespace
}  // namespace halfsplit::report
