// SPDX-License-Identifier: Apache-2.0
// A plan as one page of HTML that needs nothing else: no scripts, no network (its own policy forbids both). Written as
// XML too, so that a test can read it. Steps follow each other, however deep the tree; an outcome says which step is
// next and links to it. Prints black on white. Source: HTML Living Standard; CSS Paged Media (@page), CSS
// Fragmentation; Media Queries 5 (prefers-color-scheme).
#include <algorithm>
#include <cmath>

#include "report/columns.h"
#include "report/plan_sheet.h"
#include "report/plan_words.h"
#include "report/sheet_words.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr const char* kPlanStyle = R"css(
@page { size: A4; margin: 13mm 14mm 15mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt Arial, sans-serif; } }
:root { --ink: #141414; --paper: #fff; --quiet: #4c4c4c; --line: #767676; --link: #0b4a8f; color-scheme: light; }
@media screen and (prefers-color-scheme: dark) { :root { --ink: #e9e7e2; --paper: #16181b; --quiet: #b4b2ad; --line: #8b8984; --link: #9cc8ff; color-scheme: dark; } }
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); }
body { font: 1rem/1.45 Arial, Helvetica, "Liberation Sans", "DejaVu Sans", sans-serif; max-width: 52rem; margin: 0 auto; padding: 0.8rem; overflow-wrap: anywhere; }
header { border-bottom: 3px solid var(--ink); }
h1 { font-size: 1.7rem; line-height: 1.15; margin: 0.2rem 0; }
h2 { font-size: 1.2rem; margin: 1.6rem 0 0.4rem; }
h3 { font-size: 1.08rem; line-height: 1.3; margin: 0; display: flex; gap: 0.7rem; }
h3 .number { font-size: 1.35rem; min-width: 1.6em; }
p { margin: 0.3rem 0; }
ul, ol { margin: 0.3rem 0; padding-left: 1.3rem; }
dl { margin: 0.6rem 0; display: grid; grid-template-columns: max-content 1fr; gap: 0.15rem 0.9rem; }
dt { font-weight: bold; }
dd { margin: 0; }
.first, .first ol, .then { display: flex; flex-wrap: wrap; gap: 0 2rem; margin: 0.2rem 0; padding: 0; }
.first ol { flex: 1; margin: 0; }
.then { gap: 0 1rem; margin: 0; align-items: baseline; }
.then p { margin: 0; }
.steps, .outcomes { list-style: none; padding: 0; }
.steps > li { border-top: 1px solid var(--line); padding: 0.7rem 0; }
.steps > li:target { outline: 3px solid var(--link); outline-offset: 4px; }
.quiet { color: var(--quiet); font-size: 0.9rem; }
.caution { border: 2px solid var(--ink); padding: 0.25rem 0.6rem; font-weight: bold; }
.outcomes > li { display: grid; grid-template-columns: 1.1rem minmax(0, 2fr) 4rem minmax(0, 4fr); gap: 0 0.6rem; padding: 0.3rem 0; align-items: start; }
.tick { width: 1em; height: 1em; border: 1.5px solid var(--ink); margin-top: 0.2em; }
.seen { font-weight: bold; }
.chance { text-align: right; white-space: nowrap; padding-right: 0.5rem; border-right: solid var(--ink) 1px; }
.w2 { border-right-width: 3px; } .w3 { border-right-width: 5px; } .w4 { border-right-width: 7px; } .w5 { border-right-width: 9px; }
a { color: var(--link); font-weight: bold; }
a:focus-visible { outline: 3px solid var(--link); outline-offset: 2px; }
footer { border-top: 1px solid var(--ink); margin-top: 1.2rem; }
@media screen and (max-width: 30rem) {
  dl { grid-template-columns: 1fr; } dd { margin-bottom: 0.3rem; }
  .outcomes > li { grid-template-columns: 1.1rem minmax(0, 1fr) 4rem; }
  .then { grid-column: 2 / -1; }
  a { display: inline-block; padding: 0.6rem 1rem 0.6rem 0; }
}
@media print {
  body { max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.3; }
  h1 { font-size: 17pt; } h2 { font-size: 12pt; } h3 { font-size: 10.5pt; } h3 .number { font-size: 13pt; }
  .steps > li { break-inside: avoid; padding: 2mm 0; }
  h2, h3 { break-after: avoid; }
  footer { break-inside: avoid; }
  .quiet { color: #000; font-size: 8.5pt; }
  .outcomes > li { padding: 0.6mm 0; }
  a { color: #000; text-decoration: none; }
}
)css";

std::string plan_escape(std::string_view text) { return escape_xml(plain_line(text)); }

class PlanHtml {
 public:
  explicit PlanHtml(const PlanSheet& sheet) : sheet_(sheet), outline_(outline_plan(sheet)) {}

  std::string write() {
    write_head();
    write_facts();
    add("<main>\n");
    element("h2", "Steps");
    write_steps();
    write_notes();
    add("</main>\n<footer>\n");
    element("p", kPlanStatement);
    add("</footer>\n</body>\n</html>\n");
    return std::move(out_);
  }

 private:
  void add(std::string_view text) { out_ += text; }

  void element(const std::string& tag, std::string_view text, std::string_view style = "") {
    out_ += "<" + tag + (style.empty() ? "" : " class=\"" + std::string(style) + "\"") + ">" + plan_escape(text) +
            "</" + tag + ">\n";
  }

  void write_head() {
    add("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src &#39;none&#39;; style-src "
        "&#39;unsafe-inline&#39;\"/>\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
        "<meta name=\"color-scheme\" content=\"light dark\"/>\n");
    element("title", sheet_.vehicle.empty() ? kPlanTitle : std::string(kPlanTitle) + ": " + sheet_.vehicle);
    add(std::string("<style>") + kPlanStyle + "</style>\n</head>\n<body>\n<header>\n");
    element("h1", kPlanTitle);
    add("</header>\n");
  }

  void fact(std::string_view label, std::string_view text) {
    if (text.empty()) return;
    element("dt", label);
    element("dd", text);
  }

  void write_facts() {
    add("<dl>\n");
    fact("Vehicle", sheet_.vehicle);
    fact("Complaint", sheet_.complaint);
    fact("Drawing", sheet_.loom);
    fact("Time", plan_times(sheet_));
    fact("How good", plan_goodness(sheet_));
    add("</dl>\n");
  }

  void write_steps() {
    if (sheet_.nodes.empty()) return element("p", kPlanEmpty);
    if (outline_.number[0] == 0) return write_goal(sheet_.nodes[0]);
    add("<ol class=\"steps\">\n");
    for (const std::size_t node : outline_.order)
      if (outline_.number[node] > 0) write_step(node);
    add("</ol>\n");
  }

  void write_step(std::size_t at) {
    const PlanSheetNode& node = sheet_.nodes[at];
    const std::string number = std::to_string(outline_.number[at]);
    add("<li id=\"step-" + number + "\">\n<h3><span class=\"number\">" + number + "</span> <span>" + kind_words(node) +
        ": " + plan_escape(node.act) + "</span></h3>\n");
    write_cautions(node);
    if (!node.first.empty()) write_setups(node.first);
    if (node.kind == PlanSheetNode::Kind::kRepair) {
      if (node.money != 0.0) element("p", "Parts: " + money_words(node.money));
      element("p", "Proof: " + proof_words(node));
    }
    element("p", about_words(at), "quiet");
    write_outcomes(node);
    add("</li>\n");
  }

  // Where it comes from, how often, how long it takes.
  [[nodiscard]] std::string about_words(std::size_t at) const {
    const PlanSheetNode& node = sheet_.nodes[at];
    const std::size_t parent = outline_.parent[at];
    std::string takes = "Takes " + takes_words(node) + ".";
    if (parent == PlanOutline::kNone) return takes;
    const std::string& seen = sheet_.nodes[parent].branches[outline_.branch[at]].seen;
    return takes + " From " + std::to_string(outline_.number[parent]) + (seen.empty() ? "" : " (" + seen + ")") + "; " +
           reached_words(node) + ".";
  }

  void write_cautions(const PlanSheetNode& node) {
    for (const std::string& caution : node.cautions) element("p", "! Caution: " + caution, "caution");
  }

  void write_setups(const std::vector<std::string>& steps) {
    add("<div class=\"first\"><span>First</span>\n<ol>\n");
    for (const std::string& step : steps) element("li", step);
    add("</ol></div>\n");
  }

  void write_outcomes(const PlanSheetNode& node) {
    if (node.branches.empty()) return;
    const std::vector<std::string> percents = branch_percents(node);
    add("<ul class=\"outcomes\">\n");
    for (std::size_t b = 0; b < node.branches.size(); ++b) write_outcome(node.branches[b], percents[b]);
    add("</ul>\n");
  }

  static std::string weight_class(double chance) {
    const double share = std::isfinite(chance) ? std::clamp(chance, 0.0, 1.0) : 0.0;
    return "chance w" + std::to_string(1 + std::lround(4.0 * share));
  }

  void write_outcome(const PlanSheetBranch& branch, std::string_view percent) {
    const std::size_t number = outline_.number[branch.node];
    add("<li><span class=\"tick\"></span>");
    element("span", branch.seen, "seen");
    element("span", percent, weight_class(branch.chance));
    add("<div class=\"then\">\n");
    if (number > 0) {
      const std::string to = std::to_string(number);
      add("<a href=\"#step-" + to + "\">go to " + to + "</a>\n");
    } else {
      write_goal(sheet_.nodes[branch.node]);
    }
    if (!branch.then_likely.empty()) element("p", "likely then: " + branch.then_likely, "quiet");
    add("</div></li>\n");
  }

  void write_goal(const PlanSheetNode& node) {
    element("p", goal_words(node));
    write_cautions(node);
  }

  void write_notes() {
    const std::string left_out = plan_left_out(sheet_);
    if (sheet_.notes.empty() && left_out.empty()) return;
    element("h2", "Notes");
    add("<ul>\n");
    for (const std::string& note : sheet_.notes) element("li", note);
    if (!left_out.empty()) element("li", left_out);
    add("</ul>\n");
  }

  const PlanSheet& sheet_;
  PlanOutline outline_;
  std::string out_;
};

}  // namespace

std::string plan_html(const PlanSheet& sheet) { return PlanHtml(sheet).write(); }

}  // namespace halfsplit::report
