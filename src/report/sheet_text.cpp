// SPDX-License-Identifier: Apache-2.0
// The job sheet as text for a terminal, a printer or a mail: 80 columns, sections in the order in which a customer
// asks.
#include <algorithm>

#include "report/columns.h"
#include "report/sheet.h"
#include "report/sheet_words.h"

namespace halfsplit::report {

namespace {

constexpr std::size_t kWidth = 80;
constexpr std::size_t kLabel = 12;

class SheetText {
 public:
  explicit SheetText(const Sheet& sheet) : sheet_(sheet) {}

  std::string write() {
    write_head();
    if (!sheet_.left_behind.empty()) write_left_behind();
    write_facts();
    write_findings();
    write_readings();
    write_codes();
    write_parts();
    write_list("Found on the way", sheet_.found_on_the_way);
    write_list("Also possible", also_possible_lines(sheet_));
    write_list("Worth repeating", sheet_.repeat_worth);
    write_cautions();
    if (sheet_.left_behind.empty()) write_list("Left behind", {kNothingLeft});
    write_foot();
    return std::move(out_);
  }

 private:
  void line(const std::string& text = "") { out_ += text + "\n"; }
  void rule(char c) { line(std::string(kWidth, c)); }

  // Lines of `text` with `first` before the first and blanks before the others.
  void block(const std::string& first, std::string_view text) {
    const std::size_t indent = column_count(first);
    std::string before = first;
    for (const std::string& one : break_lines(text, kWidth - indent)) {
      std::string whole = before + one;
      whole.erase(whole.find_last_not_of(' ') + 1);
      line(whole);
      before = std::string(indent, ' ');
    }
  }

  void heading(const std::string& text) {
    line();
    line(text);
    line(std::string(column_count(text), '-'));
  }

  void fact(const std::string& label, std::string_view text) {
    if (!text.empty()) block(pad_right(label, kLabel), text);
  }

  void write_list(const std::string& title, const std::vector<std::string>& items) {
    if (items.empty()) return;
    heading(title);
    for (const std::string& item : items) block("- ", item);
  }

  void write_head() {
    rule('=');
    const std::string title =
        sheet_.number.empty() ? kSheetTitle : std::string(kSheetTitle) + " " + plain_line(sheet_.number);
    block("", title);
    if (!sheet_.workshop.empty()) block("", sheet_.workshop);
    rule('=');
  }

  // In a frame of stars, so that nobody overlooks it.
  void write_left_behind() {
    const auto starred = [&](std::string_view text) { line("** " + pad_right(text, kWidth - 6) + " **"); };
    rule('*');
    starred(kLeftBehind);
    starred(kLeftBehindWarning);
    for (const std::string& item : sheet_.left_behind) {
      std::string before = "- ";
      for (const std::string& one : break_lines(item, kWidth - 8)) {
        starred(before + one);
        before = "  ";
      }
    }
    rule('*');
  }

  void write_facts() {
    fact("Vehicle", sheet_.vehicle);
    fact("Customer", sheet_.customer);
    fact("Opened", sheet_.opened);
    fact("Closed", sheet_.closed.empty() ? "still open" : sheet_.closed);
    fact("Technician", sheet_.technician);
    fact("Complaint", sheet_.complaint);
  }

  void write_findings() {
    heading("Cause");
    block("", cause_sentence(sheet_));
    for (const std::string& reason : sheet_.reasons) block("- ", reason);
    heading("Correction");
    block("", correction_sentence(sheet_));
    const std::string proof = proof_sentence(sheet_);
    if (!proof.empty()) block("", proof);
  }

  void write_readings() {
    if (sheet_.readings.empty()) return;
    heading("Readings");
    std::vector<std::vector<std::string>> rows;
    bool contradicts = false;
    for (const SheetReading& reading : sheet_.readings) {
      const std::string where = reading.where.empty() ? "" : "\n" + reading.where;
      rows.push_back({(reading.contradicts ? "! " : "") + reading.what + where, reading.predicted_before,
                      reading.seen_before, reading.predicted_after, reading.seen_after});
      contradicts = contradicts || reading.contradicts;
    }
    out_ += format_table({{"What, where", 20, false},
                          {"Before: predicted", 13, false},
                          {"Before: seen", 13, false},
                          {"After: predicted", 13, false},
                          {"After: seen", 13, false}},
                         rows);
    if (contradicts) block("", kContradicts);
  }

  void write_codes() {
    if (sheet_.codes.empty()) return;
    heading("Codes");
    std::vector<std::vector<std::string>> rows;
    for (const SheetCode& code : sheet_.codes)
      rows.push_back({code.module, code.name, code.text, code.before, code.after});
    out_ += format_table({{"Module", 12, false},
                          {"Code", 18, false},
                          {"Meaning", 20, false},
                          {"Before", 10, false},
                          {"After", 10, false}},
                         rows);
  }

  void write_parts() {
    const std::vector<MoneyLine> money = money_lines(sheet_);
    if (sheet_.parts.empty() && money.empty() && !(sheet_.minutes > 0.0)) return;
    heading("Parts and time");
    if (!sheet_.parts.empty()) write_part_table();
    if (sheet_.minutes > 0.0 && !sheet_.labour_rate_per_hour)
      block(pad_right("Time", kLabel), time_words(sheet_.minutes));
    for (const MoneyLine& one : money) write_money(one);
  }

  void write_part_table() {
    std::vector<std::vector<std::string>> rows;
    for (const SheetPart& part : sheet_.parts)
      rows.push_back({part.what, part.part_number, quantity_words(part.quantity),
                      part.price_each ? money_words(*part.price_each) : "",
                      part.price_each ? money_words(*part.price_each * part.quantity) : ""});
    out_ += format_table(
        {{"Part", 30, false}, {"Number", 14, false}, {"Quantity", 8, true}, {"Each", 9, true}, {"Sum", 11, true}},
        rows);
  }

  void write_money(const MoneyLine& one) {
    const std::string amount = plain_line(one.amount);
    const std::size_t room = kWidth - std::min(kWidth / 2, column_count(amount) + 2);
    const std::vector<std::string> words = break_lines(one.what, room);
    for (std::size_t i = 0; i + 1 < words.size(); ++i) line(words[i]);
    if (column_count(words.back()) + 2 + column_count(amount) <= kWidth)
      return line(words.back() + pad_left(amount, kWidth - column_count(words.back())));
    line(words.back());
    block("  ", amount);
  }

  void write_cautions() {
    if (sheet_.cautions.empty()) return;
    heading("Cautions shown during the job");
    for (const SheetCaution& caution : sheet_.cautions)
      block("- ", caution.where.empty() ? caution.text : caution.where + ": " + caution.text);
  }

  void write_foot() {
    line();
    rule('-');
    block("", kStatement);
    line();
    line();
    line(std::string(40, '_'));
    line(kSignature);
  }

  const Sheet& sheet_;
  std::string out_;
};

}  // namespace

std::string format_sheet_text(const Sheet& sheet) { return SheetText(sheet).write(); }

}  // namespace halfsplit::report
