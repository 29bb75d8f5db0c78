// SPDX-License-Identifier: Apache-2.0
// The whole strategy to take to the vehicle: what to do, what each outcome means and leads to, each end a repair. As
// text, SVG and HTML for the printer. Minutes; chances from 0 to 1. Names are as the drawing spells them and may hold
// anything; escaping is done here.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace halfsplit::report {

struct PlanSheetBranch {
  std::string seen;         // "below 2.1 V", "OL", "active"; after a repair: "mended", "not mended"
  double chance = 0.0;      // given that the step is done
  std::size_t node = 0;     // into PlanSheet::nodes
  std::string then_likely;  // the leading suspect after it, with its percentage; may be empty
};

struct PlanSheetNode {
  enum class Kind {
    kTest,
    kRepair,
    kEnd,  // proven and put back; nothing more to do
    kCut,  // goes on, but too unlikely to print
  };
  Kind kind = Kind::kTest;
  std::string act;  // "volts J4:12@cab chassis"; "crimp J8:2 anew"; kEnd, kCut: empty
  std::vector<std::string>
      first;  // what to make and undo before it, in order: "cab-raised", "unplug J4", "undo key-on"
  std::vector<std::string> to_prove;  // kRepair: likewise between the repair and its proof
  std::vector<std::string> cautions;  // where the act is
  double chance = 0.0;                // of getting here
  double minutes_before = 0.0;        // spent on the way here
  double minutes = 0.0;               // of this step: setups, act, proof; kEnd: undoing what is made
  double expected_minutes = 0.0;      // from here to the end, this step included
  double money = 0.0;                 // kRepair: parts
  std::vector<PlanSheetBranch> branches;
};

struct PlanSheet {
  std::string vehicle, complaint, loom;
  std::vector<PlanSheetNode>
      nodes;                      // the first is the start; a node stands before its branches, each in one branch only
  double expected_minutes = 0.0;  // to a proven repair, everything put back
  double median_minutes = 0.0;    // half of such jobs take no longer
  double minutes_of_95 = 0.0;     // 95 in 100 take no longer
  double lower_bound_minutes = 0.0;  // no plan is cheaper
  bool exact = false;                // this is the best possible plan for the tests it was made from
  double cut_chance = 0.0;           // of ending in a kCut
  double least_chance = 0.0;         // what is less likely was cut
  std::vector<std::string> notes;    // said below: what was left out, that repairs are counted in minutes ...
};

[[nodiscard]] std::string plan_text(const PlanSheet& sheet);
[[nodiscard]] std::string plan_svg(const PlanSheet& sheet);
[[nodiscard]] std::string plan_html(const PlanSheet& sheet);

}  // namespace halfsplit::report
