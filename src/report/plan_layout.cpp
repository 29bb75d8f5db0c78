// SPDX-License-Identifier: Apache-2.0
// In reading order, each step as high as its column allows: not above the step it comes from, below what its column
// holds already and, when branches leave it, below what the next column holds, so that no two lines of branches meet.
#include "report/plan_layout.h"

#include <algorithm>
#include <cmath>

#include "report/columns.h"
#include "report/sheet_words.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr int kSpace = 12;        // below each step
constexpr int kLabelMargin = 12;  // of the words at a branch, at both ends

int lines_height(std::size_t lines) { return static_cast<int>(lines) * kPlanLineHeight; }

class PlanArranger {
 public:
  PlanArranger(const PlanSheet& sheet, const PlanOutline& outline) : sheet_(sheet), outline_(outline) {}

  PlanLayout run(int left, int top) {
    layout_.places.resize(sheet_.nodes.size());
    for (std::size_t i = 0; i < sheet_.nodes.size(); ++i) {
      fill(i);
      fill_labels(sheet_.nodes[i]);
    }
    layout_.right = left;
    free_.assign(sheet_.nodes.size() + 1, top);  // a column for each, and one more
    for (const std::size_t i : outline_.order) {
      put(i);
      PlanPlace& place = layout_.places[i];
      place.x = left + static_cast<int>(outline_.depth[i]) * (kPlanBox + kPlanGap);
      layout_.right = std::max(layout_.right, place.x + kPlanBox);
    }
    layout_.bottom = *std::max_element(free_.begin(), free_.end());
    return std::move(layout_);
  }

 private:
  void add(PlanPlace& place, std::string_view text, bool bold, bool quiet = false) {
    const double size = bold ? kPlanAct * kBoldWider : kPlanText;
    for (std::string& one : wrap_text(plain_line(text), size, kPlanBox - 2 * kPlanPad))
      place.lines.push_back({std::move(one), bold, quiet});
  }

  void fill(std::size_t i) {
    PlanPlace& place = layout_.places[i];
    const PlanSheetNode& node = sheet_.nodes[i];
    place.framed = outline_.number[i] > 0;
    if (place.framed)
      add(place, std::to_string(outline_.number[i]) + " " + kind_words(node) + ": " + node.act, true);
    else
      add(place, goal_words(node), false);
    for (const std::string& caution : node.cautions) add(place, "! " + caution, true);
    if (place.framed) fill_step(place, node, outline_.parent[i] == PlanOutline::kNone);
  }

  void fill_step(PlanPlace& place, const PlanSheetNode& node, bool start) {
    if (!node.first.empty()) add(place, "First: " + in_turn(node.first), false);
    if (node.kind == PlanSheetNode::Kind::kRepair) {
      if (node.money != 0.0) add(place, "Parts: " + money_words(node.money), false);
      add(place, "Proof: " + proof_words(node), false);
    }
    add(place, "Takes " + takes_words(node), false, true);
    if (!start) add(place, reached_words(node), false, true);
  }

  void fill_labels(const PlanSheetNode& node) {
    const std::vector<std::string> percents = branch_percents(node);
    for (std::size_t b = 0; b < node.branches.size(); ++b)
      fill_label(layout_.places[node.branches[b].node], node.branches[b], percents[b]);
  }

  static void fill_label(PlanPlace& place, const PlanSheetBranch& branch, const std::string& percent) {
    const int room = kPlanGap - kPlanTrunk - 2 * kLabelMargin;
    if (!branch.seen.empty()) place.above = wrap_text(plain_line(branch.seen), kPlanText, room);
    place.below = {percent};
    if (branch.then_likely.empty()) return;
    for (std::string& one : wrap_text("then likely " + plain_line(branch.then_likely), kPlanText, room))
      place.below.push_back(std::move(one));
  }

  // Room above the box for what stands above the branch.
  static int drop(const PlanPlace& place) { return std::max(0, lines_height(place.above.size()) + 6 - kPlanHeadLine); }

  void put(std::size_t i) {
    PlanPlace& place = layout_.places[i];
    const std::size_t column = outline_.depth[i];
    place.height = std::max(2 * kPlanHeadLine, lines_height(place.lines.size()) + 2 * kPlanPad);
    place.y = free_[column] + drop(place);
    if (outline_.parent[i] != PlanOutline::kNone) place.y = std::max(place.y, layout_.places[outline_.parent[i]].y);
    if (!sheet_.nodes[i].branches.empty()) place.y = std::max(place.y, free_[column + 1]);
    const int label = kPlanHeadLine + lines_height(place.below.size()) + 8;
    free_[column] = place.y + std::max(place.height, label) + kSpace;
  }

  const PlanSheet& sheet_;
  const PlanOutline& outline_;
  PlanLayout layout_;
  std::vector<int> free_;  // of each column: below what it holds
};

}  // namespace

PlanLayout lay_out_plan(const PlanSheet& sheet, const PlanOutline& outline, int left, int top) {
  return PlanArranger(sheet, outline).run(left, top);
}

double plan_weight(double chance) {
  constexpr double kFull = 7.0;  // pixels more when it is certain
  return SvgWriter::kThin + (std::isfinite(chance) ? kFull * std::clamp(chance, 0.0, 1.0) : 0.0);
}

}  // namespace halfsplit::report
