// SPDX-License-Identifier: Apache-2.0
// Where the steps of a plan stand in its drawing: the start at the left, a column for each branch further, each step
// level with the one it comes from or below. Nothing overlaps. Pixels, from above.
#pragma once

#include <string>
#include <vector>

#include "report/plan_sheet.h"
#include "report/plan_words.h"

namespace halfsplit::report {

inline constexpr int kPlanBox = 236;   // width of a step
inline constexpr int kPlanGap = 196;   // between two columns, with what is seen
inline constexpr int kPlanTrunk = 14;  // from a step to the line its branches leave from
inline constexpr int kPlanLineHeight = 14;
inline constexpr int kPlanPad = 8;        // in a box
inline constexpr int kPlanHeadLine = 20;  // from a box's top to where its branch arrives and the next ones leave
inline constexpr double kPlanText = 10.0;
inline constexpr double kPlanAct = 11.0;

struct PlanLine {
  std::string text;
  bool bold = false, quiet = false;
};

struct PlanPlace {
  int x = 0, y = 0, height = 0;           // of the box
  bool framed = true;                     // kEnd, kCut: words without a box
  std::vector<PlanLine> lines;            // in the box, from the top
  std::vector<std::string> above, below;  // at the branch that leads here: what is seen; the percentage, who leads then
};

struct PlanLayout {
  std::vector<PlanPlace> places;  // of each node
  int right = 0, bottom = 0;
};

[[nodiscard]] PlanLayout lay_out_plan(const PlanSheet& sheet, const PlanOutline& outline, int left, int top);

// A line's weight grows with its branch's chance.
[[nodiscard]] double plan_weight(double chance);

}  // namespace halfsplit::report
