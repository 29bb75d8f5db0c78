// SPDX-License-Identifier: Apache-2.0
// Tests only: plans made by hand and at random, all invented.
#pragma once

#include <string>
#include <vector>

#include "base/rng.h"
#include "report/plan_sheet.h"

namespace halfsplit::report {

using PlanKind = PlanSheetNode::Kind;

inline PlanSheetNode plan_node(PlanKind kind, const std::string& act) {
  PlanSheetNode node;
  node.kind = kind;
  node.act = act;
  node.chance = 1.0;
  node.minutes = 4.0;
  node.expected_minutes = 9.0;
  return node;
}

inline PlanSheetBranch plan_branch(const std::string& seen, double chance, std::size_t node,
                                   const std::string& likely = "") {
  return {seen, chance, node, likely};
}

// A test; below 2.1 V: a repair, mended or cut; above: another repair, always mended.
inline PlanSheet small_plan() {
  PlanSheet sheet;
  sheet.vehicle = "Demo tipper (invented)";
  sheet.complaint = "left tail lamp dark";
  sheet.loom = "tail lamps";
  sheet.expected_minutes = 41.6;
  sheet.median_minutes = 37.0;
  sheet.minutes_of_95 = 92.0;
  sheet.lower_bound_minutes = 40.0;
  sheet.cut_chance = 0.0031;
  sheet.least_chance = 0.005;
  sheet.notes = {"A return visit is not counted."};
  sheet.nodes = {plan_node(PlanKind::kTest, "volts J4:12@cab chassis"),
                 plan_node(PlanKind::kRepair, "crimp J8:2 anew"),
                 plan_node(PlanKind::kEnd, ""),
                 plan_node(PlanKind::kCut, ""),
                 plan_node(PlanKind::kRepair, "replace relay K4"),
                 plan_node(PlanKind::kEnd, "")};
  std::vector<PlanSheetNode>& nodes = sheet.nodes;
  nodes[0].first = {"cab-raised (4 min)", "unplug J4 (1 min)"};
  nodes[0].cautions = {"Cab raised: lock the strut."};
  nodes[0].minutes = 6.0;
  nodes[0].expected_minutes = 41.6;
  nodes[0].branches = {plan_branch("below 2.1 V", 0.541, 1, "J8:2 open 64 %"), plan_branch("2.1 V or more", 0.459, 4)};
  nodes[1].to_prove = {"plug J4", "key-on"};
  nodes[1].chance = 0.541;
  nodes[1].minutes_before = 6.0;
  nodes[1].minutes = 12.0;
  nodes[1].expected_minutes = 16.2;
  nodes[1].branches = {plan_branch("mended", 0.9943, 2), plan_branch("not mended", 0.0057, 3, "K4 stuck 40 %")};
  nodes[2].first = {"undo key-on", "undo cab-raised"};
  nodes[2].cautions = {"Nobody in front of the cab."};
  nodes[3].chance = 0.0031;
  nodes[3].expected_minutes = 35.2;
  nodes[4].chance = 0.459;
  nodes[4].minutes_before = 6.0;
  nodes[4].minutes = 0.3;
  nodes[4].expected_minutes = 4.3;
  nodes[4].money = 18.5;
  nodes[4].branches = {plan_branch("mended", 1.0, 5)};
  return sheet;
}

// So many tests below each other; each has one way out.
inline PlanSheet deep_plan(std::size_t depth) {
  PlanSheet sheet;
  for (std::size_t i = 0; i < depth; ++i) {
    PlanSheetNode test = plan_node(PlanKind::kTest, "volts J" + std::to_string(i) + ":1 chassis");
    test.branches = {plan_branch("0 V to 2.1 V", 0.3, 2 * i + 1, "J2 open 30 %"), plan_branch("above", 0.7, 2 * i + 2)};
    sheet.nodes.push_back(test);
    sheet.nodes.push_back(plan_node(PlanKind::kEnd, ""));
  }
  sheet.nodes.push_back(plan_node(PlanKind::kEnd, ""));
  return sheet;
}

inline PlanSheet wide_plan(std::size_t width) {
  PlanSheet sheet;
  sheet.nodes.push_back(plan_node(PlanKind::kTest, "code list"));
  for (std::size_t i = 1; i <= width; ++i) {
    sheet.nodes[0].branches.push_back(plan_branch("code " + std::to_string(i), 1.0 / static_cast<double>(width), i));
    sheet.nodes.push_back(plan_node(PlanKind::kRepair, "repair R" + std::to_string(i)));
  }
  return sheet;
}

// Any shape, any words.
class RandomPlan {
 public:
  explicit RandomPlan(std::uint64_t seed) : rng_(seed) {}

  PlanSheet make() {
    sheet_.vehicle = word();
    sheet_.complaint = word();
    sheet_.loom = word();
    sheet_.notes = words();
    sheet_.expected_minutes = rng_.uniform(0.0, 200.0);
    sheet_.lower_bound_minutes = rng_.chance(0.5) ? 0.5 * sheet_.expected_minutes : 0.0;
    grow(0, 1.0);
    return std::move(sheet_);
  }

  std::string word() {
    static const std::vector<std::string> pieces = {
        "volts",
        "J4:12@cab",
        " ",
        "\n",
        "&amp;",
        "<b>",
        "\"",
        "'",
        "a-word-that-is-much-too-long-for-a-step-and-its-neighbours-and-goes-on-and-on-and-on-to-the-end",
        "\xE6\x97\xA5\xE6\x9C\xAC",
        "\xC3\xA4",
        "\x1B",
        "\xFF",
        "23.8 V",
        "%"};
    std::string out;
    for (std::size_t count = rng_.below(9); count > 0; --count) out += pieces[rng_.below(pieces.size())];
    return out;
  }

 private:
  std::vector<std::string> words() {
    std::vector<std::string> out(rng_.below(3));
    for (std::string& one : out) one = word();
    return out;
  }

  std::size_t grow(std::size_t depth, double chance) {
    const std::size_t at = sheet_.nodes.size();
    const bool goes_on = depth < 5 && (depth == 0 || rng_.chance(0.7));
    PlanSheetNode node = plan_node(PlanKind::kEnd, "");
    if (goes_on)
      node = plan_node(rng_.chance(0.5) ? PlanKind::kTest : PlanKind::kRepair, word());
    else if (rng_.chance(0.3))
      node.kind = PlanKind::kCut;
    node.first = words();
    node.cautions = words();
    node.to_prove = words();
    node.chance = chance;
    node.money = rng_.chance(0.3) ? 12.5 : 0.0;
    sheet_.nodes.push_back(node);
    std::vector<double> shares(goes_on ? rng_.below(4) : 0);
    double sum = 0.0;
    for (double& share : shares) sum += share = rng_.log_uniform(1e-4, 1.0);
    for (const double share : shares) {
      const std::string seen = word(), likely = word();
      const std::size_t child = grow(depth + 1, chance * share / sum);
      sheet_.nodes[at].branches.push_back(plan_branch(seen, share / sum, child, likely));
    }
    return at;
  }

  base::Rng rng_;
  PlanSheet sheet_;
};

}  // namespace halfsplit::report
