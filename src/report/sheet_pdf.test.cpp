// SPDX-License-Identifier: Apache-2.0
#include "report/sheet_pdf.h"

#include <gtest/gtest.h>

#include "report/square_code.h"

namespace halfsplit::report {
namespace {

std::size_t pages_of(const std::string& pdf) {
  std::size_t count = 0;
  for (std::size_t at = pdf.find("/Type /Page\n"); at != std::string::npos; at = pdf.find("/Type /Page\n", at + 1))
    ++count;
  return count;
}

Sheet ordinary() {
  Sheet sheet;
  sheet.workshop = "Werkstatt Süd\nGate 3";
  sheet.vehicle = "winter gritter";
  sheet.complaint = "Öltemperatur zeigt nichts, Ω";
  sheet.cause = "J5 cavity 3: contact spread";
  sheet.cause_probability = 0.95;
  sheet.correction = "remake contact J5:3";
  sheet.minutes = 45;
  for (int i = 0; i < 12; ++i)
    sheet.readings.push_back({"volts J5:3@chassis J5:3@body", "body hinge", "0 V", "5 V", "0.01 V", "0.01 V", false});
  sheet.job_code = std::string(600, 'A');
  return sheet;
}

TEST(SheetPdf, AnOrdinaryJobTakesTwoPagesAtMost) {
  const auto pdf = format_sheet_pdf(ordinary());
  ASSERT_TRUE(pdf.ok()) << base::format_diagnostics(pdf.diagnostics());
  EXPECT_TRUE(pdf->starts_with("%PDF-"));
  EXPECT_GE(pages_of(*pdf), 1U);
  EXPECT_LE(pages_of(*pdf), 2U);
  EXPECT_EQ(*pdf, *format_sheet_pdf(ordinary()));  // no clock
}

// Long words, no blanks, bytes that are no text, many rows.
TEST(SheetPdf, AnyTextInAnyFieldMakesPages) {
  const std::vector<std::string> texts{std::string(600, 'W'),
                                       "a\xFF\xFE"
                                       "b\x01\n\n\t",
                                       std::string(1, '\xF0') + "\x9F\x94\xA7 4-byte", "", std::string(500, ' ')};
  for (const std::string& text : texts) {
    Sheet sheet = ordinary();
    for (std::string* field : {&sheet.workshop, &sheet.vehicle, &sheet.customer, &sheet.complaint, &sheet.cause,
                               &sheet.number, &sheet.technician})
      *field = text;
    for (SheetReading& one : sheet.readings) one.what = one.where = one.seen_after = text;
    sheet.left_behind = {text};
    sheet.parts = {{text, text, 1.0, 3.5}};
    sheet.currency = text;
    const auto pdf = format_sheet_pdf(sheet);
    ASSERT_TRUE(pdf.ok());
    EXPECT_LT(pages_of(*pdf), 20U);
  }
}

TEST(SheetPdf, MissingFontsAreSaid) {
  const auto pdf = format_sheet_pdf(ordinary(), {"/nowhere.ttf", "/nowhere.ttf"});
  ASSERT_FALSE(pdf.ok());
  EXPECT_EQ(pdf.diagnostics().front().code, "sheet.no-font");
}

// Finder patterns of ISO/IEC 18004: dark corners but the lower right; sizes are 17 + 4 x version.
TEST(SquareCode, HasItsFindersAndItsSize) {
  const auto code = make_square_code("HALFSPLIT1:AB", 125);
  ASSERT_TRUE(code.has_value());
  EXPECT_EQ(code->size % 4, 1U);
  for (std::size_t i = 0; i < 7; ++i) {
    EXPECT_TRUE(code->at(0, i) && code->at(i, 0) && code->at(0, code->size - 1 - i) && code->at(code->size - 1, i));
  }
  EXPECT_FALSE(make_square_code(std::string(5000, 'A'), 125).has_value());
  EXPECT_FALSE(make_square_code("", 125).has_value());
}

}  // namespace
}  // namespace halfsplit::report
