// SPDX-License-Identifier: Apache-2.0
// Laid out from top to bottom; lengths in points (1/72 inch). What is wider than its column breaks between words, a
// word wider than its column between letters: nothing leaves the page whatever a field holds.
#include "report/sheet_pdf.h"

#include <hpdf.h>

#include <algorithm>
#include <memory>
#include <utility>

#include "report/sheet_words.h"
#include "report/square_code.h"
#include "text/utf8.h"

namespace halfsplit::report {

namespace {

constexpr float kPageWidth = 595.276F, kPageHeight = 841.89F;  // A4
constexpr float kLeft = 48.0F, kRight = kPageWidth - 42.0F, kTop = kPageHeight - 42.0F, kBottom = 50.0F;
constexpr float kCodeSide = 130.0F;  // 46 mm
constexpr std::size_t kMostModules = 125;

// Printable text of the Basic Multilingual Plane; line breaks stay.
std::string for_pdf(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t bytes = text::character_bytes(text, at);
    const auto first = static_cast<unsigned char>(text[at]);
    if (first == '\n')
      out += '\n';
    else if (first < 0x20U || first == 0x7FU)
      out += ' ';
    else if ((first >= 0x80U && bytes == 1) || bytes == 4)
      out += '?';
    else
      out += text.substr(at, bytes);
    at += bytes;
  }
  return out;
}

class SheetPdf {
 public:
  SheetPdf(const Sheet& sheet, const PdfFonts& fonts, float size)
      : sheet_(sheet), size_(size), pdf_(HPDF_New(nullptr, nullptr), HPDF_Free) {
    if (!pdf_) return;
    HPDF_SetCompressionMode(pdf_.get(), HPDF_COMP_ALL);
    HPDF_UseUTFEncodings(pdf_.get());
    const char* const regular = HPDF_LoadTTFontFromFile(pdf_.get(), fonts.regular.c_str(), HPDF_TRUE);
    const char* const bold =
        regular == nullptr ? nullptr : HPDF_LoadTTFontFromFile(pdf_.get(), fonts.bold.c_str(), HPDF_TRUE);
    if (bold == nullptr) return;
    regular_ = HPDF_GetFont(pdf_.get(), regular, "UTF-8");
    bold_ = HPDF_GetFont(pdf_.get(), bold, "UTF-8");
  }

  [[nodiscard]] bool has_fonts() const { return pdf_ && regular_ != nullptr && bold_ != nullptr; }
  [[nodiscard]] std::size_t page_count() const { return pages_.size(); }

  void write() {
    new_page();
    write_head();
    if (!sheet_.left_behind.empty()) write_left_behind();
    write_facts();
    write_findings();
    write_readings();
    write_codes();
    write_parts();
    write_lists();
    write_foot();
    number_pages();
  }

  base::Result<std::string> bytes() {
    HPDF_SetInfoAttr(pdf_.get(), HPDF_INFO_TITLE, "Job sheet");
    HPDF_SaveToStream(pdf_.get());
    std::string out(HPDF_GetStreamSize(pdf_.get()), '\0');
    HPDF_ResetStream(pdf_.get());
    auto size = static_cast<HPDF_UINT32>(out.size());
    HPDF_ReadFromStream(pdf_.get(), reinterpret_cast<HPDF_BYTE*>(out.data()), &size);
    const HPDF_STATUS failed = HPDF_GetError(pdf_.get());
    if (failed != HPDF_OK && failed != HPDF_STREAM_EOF)
      return base::make_error("sheet.pdf", "the PDF cannot be made", "write the sheet as .html or .txt instead");
    out.resize(size);
    return out;
  }

 private:
  void new_page() {
    page_ = HPDF_AddPage(pdf_.get());
    HPDF_Page_SetSize(page_, HPDF_PAGE_SIZE_A4, HPDF_PAGE_PORTRAIT);
    pages_.push_back(page_);
    y_ = kTop;
  }

  void need(float height) {
    if (y_ - height < kBottom && y_ < kTop) new_page();
  }

  [[nodiscard]] static float width(HPDF_Font font, float size, std::string_view text) {
    const HPDF_TextWidth measured =
        HPDF_Font_TextWidth(font, reinterpret_cast<const HPDF_BYTE*>(text.data()), static_cast<HPDF_UINT>(text.size()));
    return static_cast<float>(measured.width) * size / 1000.0F;
  }

  [[nodiscard]] static std::vector<std::string> broken(HPDF_Font font, float size, std::string_view text, float room) {
    const std::string clean = for_pdf(text);
    std::vector<std::string> lines;
    for (std::size_t from = 0; from <= clean.size();) {
      const std::size_t end = std::min(clean.find('\n', from), clean.size());
      break_line(font, size, std::string_view(clean).substr(from, end - from), room, lines);
      from = end + 1;
    }
    return lines;
  }

  static void break_line(HPDF_Font font, float size, std::string_view text, float room,
                         std::vector<std::string>& lines) {
    std::string line;
    for (std::size_t from = 0; from < text.size();) {
      const std::size_t end = std::min(text.find(' ', from), text.size());
      std::string word(text.substr(from, end - from));
      from = end + 1;
      if (!line.empty() && width(font, size, line + " " + word) <= room) {
        line += " " + word;
        continue;
      }
      if (!line.empty()) lines.push_back(std::move(line));
      while (width(font, size, word) > room) lines.push_back(cut(font, size, word, room));
      line = std::move(word);
    }
    lines.push_back(std::move(line));
  }

  // As many letters as there is room for, one at least; taken off the word.
  static std::string cut(HPDF_Font font, float size, std::string& word, float room) {
    std::size_t end = text::character_bytes(word, 0);
    while (end < word.size()) {
      const std::size_t next = end + text::character_bytes(word, end);
      if (width(font, size, std::string_view(word).substr(0, next)) > room) break;
      end = next;
    }
    std::string head = word.substr(0, end);
    word.erase(0, end);
    return head;
  }

  void put(HPDF_Font font, float size, float x, float y, const std::string& text) {
    if (text.empty()) return;
    HPDF_Page_BeginText(page_);
    HPDF_Page_SetFontAndSize(page_, font, size);
    HPDF_Page_TextOut(page_, x, y, text.c_str());
    HPDF_Page_EndText(page_);
  }

  void rule(float thick, float from = kLeft, float to = kRight) {
    HPDF_Page_SetLineWidth(page_, thick);
    HPDF_Page_MoveTo(page_, from, y_);
    HPDF_Page_LineTo(page_, to, y_);
    HPDF_Page_Stroke(page_);
  }

  [[nodiscard]] float leading(float size) const { return size * 1.32F; }

  void lines(HPDF_Font font, float size, float x, float room, std::string_view text, const std::string& mark = "") {
    bool first = true;
    for (const std::string& line : broken(font, size, text, room)) {
      need(leading(size));
      y_ -= leading(size);
      if (first && !mark.empty()) put(font, size, x - width(font, size, mark), y_, mark);
      first = false;
      put(font, size, x, y_, line);
    }
  }

  void heading(const std::string& text) {
    need(size_ * 5.0F);
    y_ -= size_ * 1.9F;
    put(bold_, size_ * 1.05F, kLeft, y_, text);
    y_ -= size_ * 0.4F;
    rule(0.6F);
  }

  void write_head() {
    const float start = y_;
    const float middle = kLeft + (kRight - kLeft) * 0.6F;
    bool first = true;
    for (const std::string& line : broken(regular_, size_, sheet_.workshop, middle - kLeft - 10.0F)) {
      y_ -= leading(size_) * (first ? 1.25F : 1.0F);
      put(first ? bold_ : regular_, first ? size_ * 1.2F : size_, kLeft, y_, line);
      first = false;
    }
    const float below = y_;
    y_ = start - 20.0F;
    put(bold_, 20.0F, kRight - width(bold_, 20.0F, kSheetTitle), y_, kSheetTitle);
    for (const std::string& line : broken(regular_, size_, sheet_.number, kRight - middle)) {
      y_ -= leading(size_);
      put(regular_, size_, kRight - width(regular_, size_, line), y_, line);
    }
    y_ = std::min(below, y_) - 6.0F;
    rule(1.8F);
  }

  void write_left_behind() {
    y_ -= 6.0F;
    rule(2.4F);
    lines(bold_, size_ * 1.15F, kLeft + 8.0F, kRight - kLeft - 16.0F, kLeftBehind);
    lines(bold_, size_, kLeft + 8.0F, kRight - kLeft - 16.0F, kLeftBehindWarning);
    for (const std::string& item : sheet_.left_behind)
      lines(bold_, size_, kLeft + 20.0F, kRight - kLeft - 28.0F, item, "-  ");
    y_ -= size_ * 0.7F;
    rule(2.4F);
  }

  void fact(const std::string& label, const std::string& text) {
    if (text.empty()) return;
    const float x = kLeft + size_ * 8.0F;
    need(leading(size_));
    put(bold_, size_, kLeft, y_ - leading(size_), label);
    lines(regular_, size_, x, kRight - x, text);
  }

  void write_facts() {
    y_ -= size_ * 0.6F;
    fact("Vehicle", sheet_.vehicle);
    fact("Customer", sheet_.customer);
    fact("Opened", sheet_.opened);
    fact("Closed", sheet_.closed.empty() ? "still open" : sheet_.closed);
    fact("Technician", sheet_.technician);
    fact("Complaint", sheet_.complaint);
  }

  void list(const std::vector<std::string>& items) {
    for (const std::string& item : items) lines(regular_, size_, kLeft + 12.0F, kRight - kLeft - 12.0F, item, "-  ");
  }

  void write_list(const std::string& title, const std::vector<std::string>& items) {
    if (items.empty()) return;
    heading(title);
    list(items);
  }

  void write_findings() {
    heading("Cause");
    lines(bold_, size_ * 1.1F, kLeft, kRight - kLeft, cause_sentence(sheet_));
    list(sheet_.reasons);
    heading("Correction");
    lines(bold_, size_ * 1.1F, kLeft, kRight - kLeft, correction_sentence(sheet_));
    const std::string proof = proof_sentence(sheet_);
    if (!proof.empty()) lines(is_unproven(sheet_) ? bold_ : regular_, size_, kLeft, kRight - kLeft, proof);
  }

  struct Column {
    std::string head;
    float share;  // of the width
    bool right = false;
  };

  // Rows of one line of cells each; a row stays on one page, the head stands again on the next.
  void table(const std::vector<Column>& columns, const std::vector<std::vector<std::string>>& rows) {
    std::vector<std::string> heads;
    for (const Column& one : columns) heads.push_back(one.head);
    row(columns, heads, bold_, 0.6F);
    for (const std::vector<std::string>& cells : rows) {
      const std::size_t before = pages_.size();
      const float height = row_height(columns, cells, regular_);
      need(height);
      if (pages_.size() != before) row(columns, heads, bold_, 0.6F);
      row(columns, cells, regular_, 0.2F);
    }
  }

  [[nodiscard]] float column_room(const Column& column) const { return (kRight - kLeft) * column.share - 7.0F; }

  [[nodiscard]] float row_height(const std::vector<Column>& columns, const std::vector<std::string>& cells,
                                 HPDF_Font font) const {
    std::size_t most = 1;
    for (std::size_t i = 0; i < cells.size(); ++i)
      most = std::max(most, broken(font, size_, cells[i], column_room(columns[i])).size());
    return static_cast<float>(most) * leading(size_) + size_ * 0.4F;
  }

  void row(const std::vector<Column>& columns, const std::vector<std::string>& cells, HPDF_Font font, float line) {
    std::vector<std::vector<std::string>> all;
    std::size_t most = 1;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      all.push_back(broken(font, size_, cells[i], column_room(columns[i])));
      most = std::max(most, all.back().size());
    }
    for (std::size_t k = 0; k < most; ++k) {  // a row longer than a page goes on over the next
      need(leading(size_));
      y_ -= leading(size_);
      float x = kLeft;
      for (std::size_t i = 0; i < all.size(); ++i) {
        const float room = column_room(columns[i]);
        if (k < all[i].size())
          put(font, size_, columns[i].right ? x + room - width(font, size_, all[i][k]) : x, y_, all[i][k]);
        x += (kRight - kLeft) * columns[i].share;
      }
    }
    y_ -= size_ * 0.4F;
    rule(line);
  }

  void write_readings() {
    if (sheet_.readings.empty()) return;
    heading("Readings, before and after the repair");
    std::vector<std::vector<std::string>> rows;
    bool contradicts = false;
    for (const SheetReading& one : sheet_.readings) {
      rows.push_back({(one.contradicts ? "! " : "") + one.what + (one.where.empty() ? "" : "\n" + one.where),
                      one.predicted_before, one.seen_before, one.predicted_after, one.seen_after});
      contradicts = contradicts || one.contradicts;
    }
    table({{"What, where", 0.34F},
           {"Before: predicted", 0.18F},
           {"Before: seen", 0.15F},
           {"After: predicted", 0.18F},
           {"After: seen", 0.15F}},
          rows);
    if (contradicts) lines(regular_, size_, kLeft, kRight - kLeft, kContradicts);
  }

  void write_codes() {
    if (sheet_.codes.empty()) return;
    heading("Codes");
    std::vector<std::vector<std::string>> rows;
    for (const SheetCode& one : sheet_.codes) rows.push_back({one.module, one.name, one.text, one.before, one.after});
    table({{"Module", 0.15F}, {"Code", 0.22F}, {"Meaning", 0.37F}, {"Before", 0.13F}, {"After", 0.13F}}, rows);
  }

  void write_parts() {
    const std::vector<MoneyLine> money = money_lines(sheet_);
    if (sheet_.parts.empty() && money.empty() && !(sheet_.minutes > 0.0)) return;
    heading("Parts and time");
    std::vector<std::vector<std::string>> rows;
    for (const SheetPart& one : sheet_.parts)
      rows.push_back({one.what, one.part_number, quantity_words(one.quantity),
                      one.price_each ? money_words(*one.price_each) : "",
                      one.price_each ? money_words(*one.price_each * one.quantity) : ""});
    if (!rows.empty())
      table({{"Part", 0.42F}, {"Number", 0.2F}, {"Quantity", 0.12F, true}, {"Each", 0.12F, true}, {"Sum", 0.14F, true}},
            rows);
    if (sheet_.minutes > 0.0 && !sheet_.labour_rate_per_hour) fact("Time", time_words(sheet_.minutes));
    for (std::size_t i = 0; i < money.size(); ++i)
      row({{"", 0.75F}, {"", 0.25F, true}}, {money[i].what, money[i].amount}, i + 1 == money.size() ? bold_ : regular_,
          0.2F);
  }

  void write_lists() {
    write_list("Found on the way, not asked for", sheet_.found_on_the_way);
    write_list("Also possible", also_possible_lines(sheet_));
    write_list("Worth repeating", sheet_.repeat_worth);
    std::vector<std::string> cautions;
    for (const SheetCaution& one : sheet_.cautions)
      cautions.push_back(one.where.empty() ? one.text : one.where + ": " + one.text);
    write_list("Cautions shown during the job", cautions);
    if (sheet_.left_behind.empty()) write_list("Left behind", {kNothingLeft});
  }

  void write_foot() {
    const std::optional<SquareCode> code = make_square_code(sheet_.job_code, kMostModules);
    const float side = code ? kCodeSide : 0.0F;
    need(std::max(side + 12.0F, size_ * 10.0F));
    y_ -= 10.0F;
    const float top = y_;
    if (code) draw_code(*code, kRight - side, top - side, side);
    const float room = kRight - kLeft - (code ? side + 16.0F : 0.0F);
    lines(regular_, size_ * 0.9F, kLeft, room, kStatement);
    if (code)
      lines(regular_, size_ * 0.9F, kLeft, room,
            "The square holds this job for a machine to read: docs/formats/job-code.md.");
    y_ = std::min(y_ - 38.0F, code ? top - side + 16.0F : y_ - 38.0F);
    const float half = (room - 20.0F) / 2.0F;
    rule(0.6F, kLeft, kLeft + half);
    rule(0.6F, kLeft + half + 20.0F, kLeft + room);
    y_ -= leading(size_ * 0.9F);
    put(regular_, size_ * 0.9F, kLeft, y_, std::string(kSignature) + " (workshop)");
    put(regular_, size_ * 0.9F, kLeft + half + 20.0F, y_, std::string(kSignature) + " (customer)");
  }

  void draw_code(const SquareCode& code, float x, float y, float side) {
    const float module = side / static_cast<float>(code.size + 8);
    for (std::size_t row = 0; row < code.size; ++row)
      for (std::size_t column = 0; column < code.size; ++column) {
        std::size_t end = column;
        while (end < code.size && code.at(row, end)) ++end;
        if (end == column) continue;
        HPDF_Page_Rectangle(page_, x + module * static_cast<float>(column + 4),
                            y + side - module * static_cast<float>(row + 5), module * static_cast<float>(end - column),
                            module);
        column = end;
      }
    HPDF_Page_Fill(page_);
  }

  void number_pages() {
    for (std::size_t i = 0; i < pages_.size(); ++i) {
      page_ = pages_[i];
      const std::string text = std::to_string(i + 1) + " / " + std::to_string(pages_.size());
      put(regular_, 8.0F, kRight - width(regular_, 8.0F, text), 28.0F, text);
      const std::string what = for_pdf(text::shorten(sheet_.vehicle, 60));
      put(regular_, 8.0F, kLeft, 28.0F, broken(regular_, 8.0F, what, 360.0F).front());
    }
  }

  const Sheet& sheet_;
  float size_;
  std::unique_ptr<_HPDF_Doc_Rec, void (*)(HPDF_Doc)> pdf_;
  HPDF_Font regular_ = nullptr, bold_ = nullptr;
  HPDF_Page page_ = nullptr;
  std::vector<HPDF_Page> pages_;
  float y_ = kTop;
};

}  // namespace

base::Result<std::string> format_sheet_pdf(const Sheet& sheet, const PdfFonts& fonts) {
  // One page where that stays easy to read, else two, else as many as it takes.
  constexpr std::pair<float, std::size_t> kTries[] = {{9.2F, 1}, {8.6F, 1}, {8.0F, 1}, {9.2F, 2},
                                                      {8.4F, 2}, {7.6F, 2}, {6.8F, 2}, {6.4F, 1000}};
  for (const auto& [size, most] : kTries) {
    SheetPdf pdf(sheet, fonts, size);
    if (!pdf.has_fonts())
      return base::make_error("sheet.no-font", "the fonts of the PDF are not there: " + fonts.regular,
                              "install fonts-dejavu-core, or write the sheet as .html or .txt");
    pdf.write();
    if (pdf.page_count() <= most || most > 2) return pdf.bytes();
  }
  return base::make_error("sheet.pdf", "the PDF cannot be made", "write the sheet as .html or .txt instead");
}

}  // namespace halfsplit::report
