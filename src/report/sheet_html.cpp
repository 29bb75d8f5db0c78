// SPDX-License-Identifier: Apache-2.0
// The job sheet as one page of HTML that needs nothing else: no scripts, no network (its own policy forbids both),
// black on white. Written as XML too, so that a test can read it. Prints on two sheets of A4 at most for a job of
// ordinary length; a long one is set smaller. Source: HTML Living Standard; CSS Paged Media (@page), CSS Fragmentation.
#include <algorithm>

#include "report/columns.h"
#include "report/sheet.h"
#include "report/sheet_words.h"
#include "report/square_code.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr std::size_t kManyLines = 34;  // above: set smaller
constexpr std::size_t kVeryMany = 60;
constexpr std::size_t kMostSquareModules = 125;

constexpr const char* kStyle = R"css(
@page { size: A4; margin: 14mm 15mm 16mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt Arial, sans-serif; } }
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { font: 10pt/1.38 Arial, Helvetica, "Liberation Sans", "DejaVu Sans", sans-serif; max-width: 180mm; margin: 8mm auto; padding: 0 4mm; }
body.many { font-size: 8.7pt; line-height: 1.28; }
body.very-many { font-size: 7.6pt; line-height: 1.2; }
header { display: flex; justify-content: space-between; align-items: flex-end; gap: 8mm; border-bottom: 2.5pt solid #000; padding-bottom: 2.5mm; }
header .workshop { white-space: pre-line; }
h1 { font-size: 2em; line-height: 1.1; margin: 0; text-align: right; letter-spacing: -0.01em; }
h1 small { display: block; font-size: 0.5em; font-weight: normal; letter-spacing: 0; }
h2 { font-size: 0.82em; text-transform: uppercase; letter-spacing: 0.09em; margin: 1.5em 0 0.35em; border-bottom: 0.6pt solid #000; break-after: avoid; }
p { margin: 0.3em 0; white-space: pre-line; }
ul, ol { margin: 0.3em 0; padding-left: 1.5em; }
li { margin: 0.1em 0; }
dl { display: grid; grid-template-columns: max-content 1fr max-content 1fr; gap: 0.25em 1.1em; margin: 0.9em 0 0; }
dt { font-weight: bold; }
dd { margin: 0; white-space: pre-line; }
dd.wide { grid-column: 2 / -1; }
.finding { font-size: 1.22em; font-weight: bold; }
section { break-inside: avoid; }
.loud { border: 3pt solid #000; padding: 2mm 4mm; margin: 4mm 0; font-weight: bold; }
.loud h2 { font-size: 1.2em; border: 0; margin: 0; letter-spacing: 0.03em; }
.columns { display: grid; grid-template-columns: 1fr 1fr; gap: 0 8mm; }
table { width: 100%; border-collapse: collapse; }
th, td { text-align: left; vertical-align: top; padding: 0.28em 0.9em 0.28em 0; }
th { font-size: 0.86em; border-bottom: 0.6pt solid #000; }
th.group { border-bottom: 0; }
td { border-bottom: 0.3pt solid #999; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
.after { border-left: 0.6pt solid #000; padding-left: 0.9em; }
.number { text-align: right; white-space: nowrap; padding-right: 0; padding-left: 0.9em; }
.sum td { border-bottom: 0; }
.sum tr:last-child td { border-top: 0.6pt solid #000; font-weight: bold; }
.place { display: block; font-size: 0.88em; }
body.many td { padding-top: 0.15em; padding-bottom: 0.15em; }
body.very-many td { padding-top: 0.08em; padding-bottom: 0.08em; }
body.very-many .place { display: inline; margin-left: 0.7em; }
footer { margin-top: 6mm; break-inside: avoid; }
footer .code { float: right; margin: 0 0 0 6mm; }
.signature { display: grid; grid-template-columns: 1fr 1fr; gap: 12mm; margin-top: 13mm; }
.signature div { border-top: 0.6pt solid #000; padding-top: 1mm; font-size: 0.88em; }
@media print { body { margin: 0; padding: 0; max-width: none; } }
@media (max-width: 130mm) { .columns { grid-template-columns: 1fr; } dl { grid-template-columns: max-content 1fr; } dd.wide { grid-column: 2; } }
)css";

std::string escape(std::string_view text) { return escape_xml(text); }

class SheetHtml {
 public:
  explicit SheetHtml(const Sheet& sheet) : sheet_(sheet) {}

  std::string write() {
    write_head();
    if (!sheet_.left_behind.empty()) write_left_behind();
    write_facts();
    write_findings();
    write_readings();
    write_codes();
    write_parts();
    write_lists();
    write_foot();
    return std::move(out_);
  }

 private:
  void add(std::string_view text) { out_ += text; }

  void element(const std::string& tag, std::string_view text, std::string_view style = "") {
    out_ += "<" + tag + (style.empty() ? "" : " class=\"" + std::string(style) + "\"") + ">" + escape(text) + "</" +
            tag + ">\n";
  }

  // How much there is to print, in lines of about half a page's width.
  [[nodiscard]] std::size_t count_lines() const {
    std::size_t lines = 2 * sheet_.readings.size() + sheet_.codes.size() + sheet_.parts.size();
    const auto add_list = [&](const std::vector<std::string>& list) {
      for (const std::string& one : list) lines += 1 + one.size() / 80;
    };
    add_list(sheet_.reasons);
    add_list(sheet_.found_on_the_way);
    add_list(sheet_.repeat_worth);
    add_list(sheet_.left_behind);
    lines += sheet_.also_possible.size();
    for (const SheetCaution& caution : sheet_.cautions) lines += 1 + caution.text.size() / 80;
    return lines + sheet_.complaint.size() / 100 + sheet_.cause.size() / 80 + sheet_.correction.size() / 80;
  }

  void write_head() {
    const std::size_t lines = count_lines();
    const std::string title =
        plain_line(sheet_.number.empty() ? kSheetTitle : std::string(kSheetTitle) + " " + sheet_.number);
    add("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src &#39;none&#39;; style-src "
        "&#39;unsafe-inline&#39;\"/>\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n");
    element("title", title);
    add(std::string("<style>") + kStyle + "</style>\n</head>\n");
    add(lines > kVeryMany    ? "<body class=\"very-many\">\n"
        : lines > kManyLines ? "<body class=\"many\">\n"
                             : "<body>\n");
    add("<header>\n");
    element("div", sheet_.workshop, "workshop");
    add("<h1>" + std::string(kSheetTitle) +
        (sheet_.number.empty() ? "" : "<small>" + escape(sheet_.number) + "</small>") + "</h1>\n</header>\n");
  }

  void write_left_behind() {
    add("<section class=\"loud\">\n");
    element("h2", kLeftBehind);
    element("p", kLeftBehindWarning);
    write_items("ul", sheet_.left_behind);
    add("</section>\n");
  }

  void write_items(const std::string& tag, const std::vector<std::string>& items) {
    add("<" + tag + ">\n");
    for (const std::string& item : items) element("li", item);
    add("</" + tag + ">\n");
  }

  void fact(std::string_view label, std::string_view text, bool wide) {
    if (text.empty()) return;
    element("dt", label);
    element("dd", text, wide ? "wide" : "");
  }

  void write_facts() {
    add("<dl>\n");
    fact("Vehicle", sheet_.vehicle, true);
    fact("Customer", sheet_.customer, true);
    fact("Opened", sheet_.opened, sheet_.opened.empty());
    fact("Closed", sheet_.closed.empty() ? "still open" : sheet_.closed, sheet_.opened.empty());
    fact("Technician", sheet_.technician, true);
    fact("Complaint", sheet_.complaint, true);
    add("</dl>\n");
  }

  void write_findings() {
    element("h2", "Cause");
    element("p", cause_sentence(sheet_), "finding");
    if (!sheet_.reasons.empty()) write_items("ol", sheet_.reasons);
    element("h2", "Correction");
    element("p", correction_sentence(sheet_), "finding");
    const std::string proof = proof_sentence(sheet_);
    if (!proof.empty()) element("p", proof, is_unproven(sheet_) ? "loud" : "");
  }

  void cell(std::string_view text, std::string_view style = "") { element("td", text, style); }

  void write_readings() {
    if (sheet_.readings.empty()) return;
    element("h2", "Readings");
    add("<table>\n<thead>\n<tr><th class=\"group\"></th><th class=\"group\" colspan=\"2\">Before the repair</th>"
        "<th class=\"group after\" colspan=\"2\">After the repair</th></tr>\n"
        "<tr><th>What, where</th><th>predicted</th><th>seen</th><th class=\"after\">predicted</th><th>seen</th></tr>\n"
        "</thead>\n<tbody>\n");
    bool contradicts = false;
    for (const SheetReading& reading : sheet_.readings) {
      add("<tr>\n<td>" + escape((reading.contradicts ? "! " : "") + reading.what));
      if (!reading.where.empty()) add("<span class=\"place\">" + escape(reading.where) + "</span>");
      add("</td>\n");
      cell(reading.predicted_before);
      cell(reading.seen_before);
      cell(reading.predicted_after, "after");
      cell(reading.seen_after);
      add("</tr>\n");
      contradicts = contradicts || reading.contradicts;
    }
    add("</tbody>\n</table>\n");
    if (contradicts) element("p", kContradicts);
  }

  void write_codes() {
    if (sheet_.codes.empty()) return;
    element("h2", "Codes");
    add("<table>\n<thead><tr><th>Module</th><th>Code</th><th>Meaning</th><th>Before</th><th>After</th></tr></"
        "thead>\n<tbody>\n");
    for (const SheetCode& code : sheet_.codes) {
      add("<tr>\n");
      for (const std::string* text : {&code.module, &code.name, &code.text, &code.before, &code.after}) cell(*text);
      add("</tr>\n");
    }
    add("</tbody>\n</table>\n");
  }

  void write_parts() {
    const std::vector<MoneyLine> money = money_lines(sheet_);
    if (sheet_.parts.empty() && money.empty() && !(sheet_.minutes > 0.0)) return;
    add("<section>\n");
    element("h2", "Parts and time");
    if (!sheet_.parts.empty()) write_part_table();
    if (sheet_.minutes > 0.0 && !sheet_.labour_rate_per_hour) element("p", "Time: " + time_words(sheet_.minutes));
    if (!money.empty()) write_money(money);
    add("</section>\n");
  }

  void write_money(const std::vector<MoneyLine>& money) {
    add("<table class=\"sum\">\n<tbody>\n");
    for (const MoneyLine& one : money) {
      add("<tr>\n");
      cell(one.what);
      cell(one.amount, "number");
      add("</tr>\n");
    }
    add("</tbody>\n</table>\n");
  }

  void write_part_table() {
    add("<table>\n<thead><tr><th>Part</th><th>Number</th><th class=\"number\">Quantity</th><th "
        "class=\"number\">Each</th>"
        "<th class=\"number\">Sum</th></tr></thead>\n<tbody>\n");
    for (const SheetPart& part : sheet_.parts) {
      add("<tr>\n");
      cell(part.what);
      cell(part.part_number);
      cell(quantity_words(part.quantity), "number");
      cell(part.price_each ? money_words(*part.price_each) : "", "number");
      cell(part.price_each ? money_words(*part.price_each * part.quantity) : "", "number");
      add("</tr>\n");
    }
    add("</tbody>\n</table>\n");
  }

  void write_list(std::string_view title, const std::vector<std::string>& items) {
    if (items.empty()) return;
    add("<section>\n");
    element("h2", title);
    write_items("ul", items);
    add("</section>\n");
  }

  void write_lists() {
    std::vector<std::string> cautions;
    for (const SheetCaution& caution : sheet_.cautions)
      cautions.push_back(caution.where.empty() ? caution.text : caution.where + ": " + caution.text);
    add("<div class=\"columns\">\n");
    write_list("Also possible", also_possible_lines(sheet_));
    write_list("Found on the way", sheet_.found_on_the_way);
    write_list("Worth repeating", sheet_.repeat_worth);
    write_list("Cautions shown during the job", cautions);
    if (sheet_.left_behind.empty()) write_list("Left behind", {kNothingLeft});
    add("</div>\n");
  }

  void write_foot() {
    add("<footer>\n");
    if (const std::optional<SquareCode> code = make_square_code(sheet_.job_code, kMostSquareModules))
      add("<div class=\"code\">" + square_code_svg(*code, 46.0) + "</div>\n");
    element("p", kStatement);
    add("<div class=\"signature\">\n");
    element("div", std::string(kSignature) + " (workshop)");
    element("div", std::string(kSignature) + " (customer)");
    add("</div>\n</footer>\n</body>\n</html>\n");
  }

  const Sheet& sheet_;
  std::string out_;
};

}  // namespace

std::string format_sheet_html(const Sheet& sheet) { return SheetHtml(sheet).write(); }

}  // namespace halfsplit::report
