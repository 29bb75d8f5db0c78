// SPDX-License-Identifier: Apache-2.0
// A plan as text: 80 columns, one step after the other, each outcome with a box to tick and the step to go to, so that
// a deep tree is as narrow as a shallow one.
#include <algorithm>

#include "report/columns.h"
#include "report/plan_sheet.h"
#include "report/plan_words.h"
#include "report/sheet_words.h"

namespace halfsplit::report {

namespace {

constexpr std::size_t kPlanWidth = 80;
constexpr std::size_t kPlanLabel = 13;
constexpr std::size_t kMostSeen = 26;    // columns for what is seen; longer is broken
constexpr std::size_t kPercentRoom = 5;  // ">99 %"

class PlanText {
 public:
  explicit PlanText(const PlanSheet& sheet) : sheet_(sheet), outline_(outline_plan(sheet)) {}

  std::string write() {
    write_head();
    if (sheet_.nodes.empty()) block("", kPlanEmpty);
    for (const std::size_t node : outline_.order)
      if (outline_.number[node] > 0) write_step(node);
    if (!sheet_.nodes.empty() && outline_.number[0] == 0)
      block("", goal_words(sheet_.nodes[0]) + goal_cautions(sheet_.nodes[0]));
    write_foot();
    return std::move(out_);
  }

 private:
  void line(std::string text = "") {
    text.erase(text.find_last_not_of(' ') + 1);
    out_ += text + "\n";
  }
  void rule(char c) { line(std::string(kPlanWidth, c)); }

  // Lines of `text` with `first` before the first and blanks before the others.
  void block(std::string first, std::string_view text) {
    const std::size_t indent = column_count(first);
    for (const std::string& one : break_lines(text, kPlanWidth - indent)) {
      line(first + one);
      first.assign(indent, ' ');
    }
  }

  void fact(const std::string& label, std::string_view text) {
    if (!text.empty()) block(pad_right(label, kPlanLabel), text);
  }

  void write_head() {
    rule('=');
    line(kPlanTitle);
    rule('=');
    fact("Vehicle", sheet_.vehicle);
    fact("Complaint", sheet_.complaint);
    fact("Drawing", sheet_.loom);
    fact("Time", plan_times(sheet_));
    fact("How good", plan_goodness(sheet_));
    line();
  }

  void write_step(std::size_t at) {
    const PlanSheetNode& node = sheet_.nodes[at];
    rule('-');
    block(pad_right(std::to_string(outline_.number[at]), 4) + pad_right(kind_words(node), kPlanLabel - 4),
          plain_line(node.act));
    for (const std::string& caution : node.cautions) fact("    Caution", "! " + plain_line(caution));
    fact("    First", in_turn(node.first));
    if (node.kind == PlanSheetNode::Kind::kRepair) {
      if (node.money != 0.0) fact("    Parts", money_words(node.money));
      fact("    Proof", proof_words(node));
    }
    fact("    Takes", takes_words(node));
    fact("    From", from_words(at));
    write_outcomes(node);
  }

  [[nodiscard]] std::string from_words(std::size_t at) const {
    const std::size_t parent = outline_.parent[at];
    if (parent == PlanOutline::kNone) return "";
    const std::string seen = plain_line(sheet_.nodes[parent].branches[outline_.branch[at]].seen);
    return std::to_string(outline_.number[parent]) + (seen.empty() ? "" : " (" + seen + ")") + "; " +
           reached_words(sheet_.nodes[at]);
  }

  void write_outcomes(const PlanSheetNode& node) {
    std::size_t room = 4;
    for (const PlanSheetBranch& branch : node.branches)
      room = std::max(room, std::min(kMostSeen, column_count(plain_line(branch.seen))));
    const std::vector<std::string> percents = branch_percents(node);
    for (std::size_t b = 0; b < node.branches.size(); ++b)
      write_outcome(node.branches[b], room, pad_left(percents[b], kPercentRoom));
  }

  void write_outcome(const PlanSheetBranch& branch, std::size_t room, const std::string& percent) {
    const std::vector<std::string> seen = break_lines(plain_line(branch.seen), room);
    const std::size_t indent = 8 + room + 2 + kPercentRoom + 2;
    std::string next = next_words(branch);
    if (!branch.then_likely.empty()) next += "; likely then: " + plain_line(branch.then_likely);
    if (outline_.number[branch.node] == 0) next += goal_cautions(sheet_.nodes[branch.node]);
    const std::vector<std::string> then = break_lines(next, kPlanWidth - indent);
    for (std::size_t i = 0; i < std::max(seen.size(), then.size()); ++i)
      line((i == 0 ? "    [ ] " : "        ") + pad_right(i < seen.size() ? seen[i] : "", room) + "  " +
           (i == 0 ? percent : std::string(kPercentRoom, ' ')) + "  " + (i < then.size() ? then[i] : ""));
  }

  [[nodiscard]] std::string next_words(const PlanSheetBranch& branch) const {
    const std::size_t number = outline_.number[branch.node];
    return number > 0 ? "go to " + std::to_string(number) : goal_words(sheet_.nodes[branch.node]);
  }

  static std::string goal_cautions(const PlanSheetNode& node) {
    std::string words;
    for (const std::string& caution : node.cautions) words += "\n! " + plain_line(caution);
    return words;
  }

  void write_foot() {
    rule('-');
    for (const std::string& note : sheet_.notes) block("- ", note);
    const std::string left_out = plan_left_out(sheet_);
    if (!left_out.empty()) block("- ", left_out);
    block("", kPlanStatement);
  }

  const PlanSheet& sheet_;
  PlanOutline outline_;
  std::string out_;
};

}  // namespace

std::string plan_text(const PlanSheet& sheet) { return PlanText(sheet).write(); }

}  // namespace halfsplit::report
