// SPDX-License-Identifier: Apache-2.0
// Paints a plan once it is laid out (plan_layout.h): lines first, then steps and words. The upright line that branches
// leave from carries the weight of all branches that are still to come.
#include <algorithm>
#include <cmath>

#include "report/columns.h"
#include "report/plan_layout.h"
#include "report/plan_sheet.h"
#include "report/plan_words.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr int kPlanMargin = 24;
constexpr int kPlanHeadWidth = 760;  // of the words above and below
constexpr double kRepairEdge = 2.6;

class PlanPainter {
 public:
  explicit PlanPainter(const PlanSheet& sheet) : sheet_(sheet), outline_(outline_plan(sheet)), out_(false) {}

  std::string paint() {
    int y = paint_head();
    layout_ = lay_out_plan(sheet_, outline_, kPlanMargin, y);
    for (std::size_t i = 0; i < sheet_.nodes.size(); ++i) paint_branches(i);
    for (const std::size_t i : outline_.order) paint_node(i);
    y = paint_foot(layout_.bottom + 20);
    const int width = std::max(layout_.right, kPlanMargin + kPlanHeadWidth) + kPlanMargin;
    return out_.document(width, y, title(), "A tree of steps: tests, what may be seen, repairs. " + plan_times(sheet_));
  }

 private:
  [[nodiscard]] std::string title() const {
    const std::string vehicle = plain_line(sheet_.vehicle);
    return vehicle.empty() ? kPlanTitle : std::string(kPlanTitle) + ": " + vehicle;
  }

  int paragraph(int y, std::string_view text, double size, bool bold, bool quiet) {
    if (text.empty()) return y;
    for (const std::string& one : wrap_text(plain_line(text), bold ? kBoldWider * size : size, kPlanHeadWidth)) {
      out_.text({kPlanMargin, y, size, 's', bold, quiet}, one);
      y += static_cast<int>(std::ceil(1.4 * size));
    }
    return y;
  }

  int paint_head() {
    int y = paragraph(34, title(), 17.0, true, false);
    y = paragraph(y, sheet_.complaint, 12.0, false, false);
    y = paragraph(y, sheet_.loom, kPlanAct, false, true);
    y = paragraph(y, "Time: " + plan_times(sheet_), kPlanAct, false, false);
    y = paragraph(y, "How good: " + plan_goodness(sheet_), kPlanAct, false, false);
    if (sheet_.nodes.empty()) y = paragraph(y + 10, kPlanEmpty, 12.0, true, false);
    return y + 10;
  }

  int paint_foot(int y) {
    y = paragraph(y, "A line's weight grows with the chance of its branch, which stands below it.", kPlanText, false,
                  true);
    for (const std::string& note : sheet_.notes) y = paragraph(y, note, kPlanText, false, false);
    y = paragraph(y, plan_left_out(sheet_), kPlanText, false, false);
    return paragraph(y + 4, kPlanStatement, kPlanText, false, false) + 10;
  }

  [[nodiscard]] int line_y(std::size_t node) const { return layout_.places[node].y + kPlanHeadLine; }

  static int half_weight(double chance) { return static_cast<int>(std::ceil(plan_weight(chance) / 2.0)); }

  void paint_branches(std::size_t i) {
    const std::vector<PlanSheetBranch>& branches = sheet_.nodes[i].branches;
    if (branches.empty()) return;
    const PlanPlace& place = layout_.places[i];
    const int out = place.x + (place.framed ? kPlanBox : 0), trunk = place.x + kPlanBox + kPlanTrunk;
    double coming = 0.0;
    for (const PlanSheetBranch& branch : branches) coming += std::isfinite(branch.chance) ? branch.chance : 0.0;
    out_.line(out, line_y(i), trunk, line_y(i), plan_weight(coming));
    int y = line_y(i);
    for (const PlanSheetBranch& branch : branches) {
      const int to = line_y(branch.node), half = half_weight(branch.chance), corner = half_weight(coming);
      if (to > y) out_.line(trunk, y, trunk, to + half, plan_weight(coming));
      y = to;
      const bool cut = sheet_.nodes[branch.node].kind == PlanSheetNode::Kind::kCut;
      out_.path({{to > line_y(i) ? trunk : trunk - corner, y}, {layout_.places[branch.node].x, y}},
                plan_weight(branch.chance), cut);
      coming -= std::isfinite(branch.chance) ? branch.chance : 0.0;
    }
  }

  void paint_node(std::size_t i) {
    const PlanPlace& place = layout_.places[i];
    out_.open_group(place.framed ? "step" : "goal");
    const bool repair = sheet_.nodes[i].kind == PlanSheetNode::Kind::kRepair;
    if (place.framed)
      out_.box(place.x, place.y, kPlanBox, place.height, repair ? kRepairEdge : SvgWriter::kThin);
    else
      out_.line(place.x, place.y, place.x, place.y + 2 * kPlanHeadLine, SvgWriter::kThin);
    int y = place.y + kPlanPad + 11;
    for (const PlanLine& line : place.lines) {
      out_.text({place.x + kPlanPad, y, line.bold ? kPlanAct : kPlanText, 's', line.bold, line.quiet}, line.text);
      y += kPlanLineHeight;
    }
    out_.close_group();
    paint_label(i);
  }

  void paint_label(std::size_t i) {
    if (outline_.parent[i] == PlanOutline::kNone) return;
    const PlanPlace& place = layout_.places[i];
    const double chance = sheet_.nodes[outline_.parent[i]].branches[outline_.branch[i]].chance;
    const int half = half_weight(chance);
    const int x = place.x - kPlanGap + kPlanTrunk + 12;
    int y = line_y(i) - half - 3 - kPlanLineHeight * (static_cast<int>(place.above.size()) - 1);
    for (const std::string& line : place.above) {
      out_.text({x, y, kPlanText}, line);
      y += kPlanLineHeight;
    }
    y = line_y(i) + half + 11;
    for (const std::string& line : place.below) {
      const bool percent = &line == &place.below.front();
      out_.text({x, y, percent ? kPlanAct : kPlanText, 's', percent, !percent}, line);
      y += kPlanLineHeight;
    }
  }

  const PlanSheet& sheet_;
  PlanOutline outline_;
  SvgWriter out_;
  PlanLayout layout_;
};

}  // namespace

std::string plan_svg(const PlanSheet& sheet) { return PlanPainter(sheet).paint(); }

}  // namespace halfsplit::report
