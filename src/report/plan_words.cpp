// SPDX-License-Identifier: Apache-2.0
// Percentages that add up: the largest-remainder method (Hamilton's). Whole percents are given out by the whole part of
// each share, those left over to the largest remainders, the earlier branch first.
#include "report/plan_words.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/check.h"
#include "base/number.h"
#include "report/columns.h"
#include "report/sheet_words.h"

namespace halfsplit::report {

namespace {

bool is_step(const PlanSheetNode& node) {
  return node.kind == PlanSheetNode::Kind::kTest || node.kind == PlanSheetNode::Kind::kRepair;
}

// Links each node to its parent; a node before its branches, each in one branch only.
void link_nodes(const PlanSheet& sheet, PlanOutline& outline) {
  for (std::size_t i = 0; i < sheet.nodes.size(); ++i)
    for (std::size_t b = 0; b < sheet.nodes[i].branches.size(); ++b) {
      const std::size_t node = sheet.nodes[i].branches[b].node;
      HS_CHECK(node > i && node < sheet.nodes.size(), "a plan's node stands before its branches");
      HS_CHECK(outline.parent[node] == PlanOutline::kNone, "a plan's node is in one branch only");
      outline.parent[node] = i;
      outline.branch[node] = b;
      outline.depth[node] = outline.depth[i] + 1;
    }
}

double share_of(double chance) { return std::isfinite(chance) ? std::clamp(chance, 0.0, 1.0) : 0.0; }

std::vector<long> whole_percents(const PlanSheetNode& node) {
  std::vector<long> whole;
  std::vector<double> rest;
  double sum = 0.0;
  for (const PlanSheetBranch& branch : node.branches) {
    const double percent = 100.0 * share_of(branch.chance);
    whole.push_back(static_cast<long>(std::floor(percent)));
    rest.push_back(percent - std::floor(percent));
    sum += percent;
  }
  std::vector<std::size_t> by_rest(whole.size());
  std::iota(by_rest.begin(), by_rest.end(), std::size_t{0});
  std::stable_sort(by_rest.begin(), by_rest.end(), [&](std::size_t a, std::size_t b) { return rest[a] > rest[b]; });
  long left = std::lround(sum) - std::accumulate(whole.begin(), whole.end(), 0L);
  for (const std::size_t i : by_rest)
    if (left-- > 0) ++whole[i];
  return whole;
}

std::string minutes_or_unknown(double minutes) { return std::isfinite(minutes) ? step_minutes(minutes) : "?"; }

}  // namespace

PlanOutline outline_plan(const PlanSheet& sheet) {
  const std::size_t count = sheet.nodes.size();
  PlanOutline outline;
  outline.number.assign(count, 0);
  outline.parent.assign(count, PlanOutline::kNone);
  outline.branch.assign(count, 0);
  outline.depth.assign(count, 0);
  link_nodes(sheet, outline);
  std::vector<std::size_t> waiting;
  if (count > 0) waiting.push_back(0);
  std::size_t steps = 0;
  while (!waiting.empty()) {
    const std::size_t at = waiting.back();
    waiting.pop_back();
    outline.order.push_back(at);
    if (is_step(sheet.nodes[at])) outline.number[at] = ++steps;
    const std::vector<PlanSheetBranch>& branches = sheet.nodes[at].branches;
    for (auto branch = branches.rbegin(); branch != branches.rend(); ++branch) waiting.push_back(branch->node);
  }
  HS_CHECK(outline.order.size() == count, "every node of a plan but the first is in a branch");
  return outline;
}

std::vector<std::string> branch_percents(const PlanSheetNode& node) {
  std::vector<std::string> words;
  for (const long percent : whole_percents(node))
    words.push_back(percent <= 0 ? "<1 %" : percent >= 100 ? ">99 %" : std::to_string(percent) + " %");
  return words;
}

std::string share_words(double chance) {
  if (!std::isfinite(chance)) return "an unknown share";
  const double percent = 100.0 * chance;
  if (percent >= 99.5) return "above 99 %";
  if (percent >= 9.95) return std::to_string(std::lround(percent)) + " %";
  if (percent < 0.05) return "below 0.1 %";
  return base::format_number(std::round(percent * 10.0) / 10.0) + " %";
}

std::string step_minutes(double minutes) {
  return minutes > 0.0 && minutes < 0.5 ? "less than 1 min" : time_words(minutes);
}

std::string kind_words(const PlanSheetNode& node) {
  return node.kind == PlanSheetNode::Kind::kRepair ? "Repair" : "Test";
}

std::string in_turn(const std::vector<std::string>& steps) {
  std::string words;
  for (const std::string& step : steps) words += (words.empty() ? "" : ", then ") + plain_line(step);
  return words;
}

std::string proof_words(const PlanSheetNode& node) {
  const std::string steps = in_turn(node.to_prove);
  return steps.empty() ? "see whether it is mended" : steps + ", then see whether it is mended";
}

std::string takes_words(const PlanSheetNode& node) {
  return step_minutes(node.minutes) + " in all; from here to the end about " +
         minutes_or_unknown(node.expected_minutes);
}

std::string reached_words(const PlanSheetNode& node) {
  return share_words(node.chance) + " of such jobs come here, after " + minutes_or_unknown(node.minutes_before);
}

std::string goal_words(const PlanSheetNode& node) {
  if (node.kind == PlanSheetNode::Kind::kCut)
    return "not printed: " + share_words(node.chance) + " of such jobs, about " +
           minutes_or_unknown(node.expected_minutes) + " more";
  if (node.first.empty()) return "done; nothing to put back";
  return "done; put back: " + in_turn(node.first) + " (" + minutes_or_unknown(node.minutes) + ")";
}

std::string plan_times(const PlanSheet& sheet) {
  return "about " + minutes_or_unknown(sheet.expected_minutes) +
         " to a proven repair, with everything put back; half of such jobs take at most " +
         minutes_or_unknown(sheet.median_minutes) + ", 95 in 100 at most " + minutes_or_unknown(sheet.minutes_of_95);
}

std::string plan_goodness(const PlanSheet& sheet) {
  if (sheet.exact) return "exact: no plan is cheaper with these tests";
  const double ratio = sheet.expected_minutes / sheet.lower_bound_minutes;
  if (!(sheet.lower_bound_minutes > 0.0) || !std::isfinite(ratio)) return "no bound known";
  // Rounded up, so that the sentence stays true.
  const double above = std::ceil(100.0 * (ratio - 1.0) - 1e-9);
  return "at most " + base::format_number(std::max(1.0, above)) + " % above the best possible plan";
}

std::string plan_left_out(const PlanSheet& sheet) {
  const auto is_cut = [](const PlanSheetNode& node) { return node.kind == PlanSheetNode::Kind::kCut; };
  if (!(sheet.cut_chance > 0.0) && std::none_of(sheet.nodes.begin(), sheet.nodes.end(), is_cut)) return "";
  const std::string least =
      sheet.least_chance > 0.0 ? " (what fewer than " + share_words(sheet.least_chance) + " of such jobs come to)" : "";
  return share_words(sheet.cut_chance) + " of such jobs come to a branch that goes on and is not printed" + least +
         ". There, enter what was seen and ask for the next test.";
}

}  // namespace halfsplit::report
