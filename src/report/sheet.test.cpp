// SPDX-License-Identifier: Apache-2.0
#include "report/sheet.h"

#include <gtest/gtest.h>

#include <limits>

#include "base/rng.h"
#include "report/columns.h"
#include "report/sheet_words.h"
#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

Sheet small_sheet() {
  Sheet sheet;
  sheet.number = "7";
  sheet.vehicle = "Demo tipper (invented)";
  sheet.complaint = "left tail lamp dark";
  sheet.opened = "6 May 2024";
  sheet.cause = "J4 cavity 12: open";
  sheet.cause_probability = 0.93;
  sheet.reasons = {"volts on one side only"};
  sheet.correction = "terminal renewed";
  sheet.proof_probability = 0.97;
  sheet.readings = {{"volts J4:12@cab G1", "cab floor", "0 V", "0.02 V", "23.7 V", "23.8 V", false}};
  sheet.also_possible = {{"not on this drawing", 0.02}};
  sheet.minutes = 65.0;
  return sheet;
}

bool holds(const std::string& text, const std::string& what) { return text.find(what) != std::string::npos; }

// The text without line breaks and double blanks, to look for sentences in it.
std::string flowing(const std::string& text) {
  std::string out;
  for (const char c : text)
    if (c != '\n' && c != ' ')
      out += c;
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  return out;
}

// What a reader of the page sees, between the tags.
std::string seen(const std::string& html) {
  XmlCheck check(html);
  EXPECT_EQ(check.run(), "");
  std::string out;
  for (const std::string& text : check.texts()) out += text + "\n";
  return out;
}

TEST(SheetText, IsWhatIsHandedOver) {
  EXPECT_EQ(format_sheet_text(small_sheet()),
            R"(================================================================================
Job sheet 7
================================================================================
Vehicle     Demo tipper (invented)
Opened      6 May 2024
Closed      still open
Complaint   left tail lamp dark

Cause
-----
J4 cavity 12: open - probability about 93 %
- volts on one side only

Correction
----------
terminal renewed
By what was seen after the repair, the complaint is gone: probability about
97 %.

Readings
--------
What, where           Before:        Before: seen   After:         After: seen
                      predicted                     predicted
--------------------  -------------  -------------  -------------  -------------
volts J4:12@cab G1    0 V            0.02 V         23.7 V         23.8 V
cab floor

Parts and time
--------------
Time        1 h 5 min

Also possible
-------------
- not on this drawing: about 2 %

Left behind
-----------
- Nothing: all that was fitted, unplugged or raised has been undone.

--------------------------------------------------------------------------------
A cause is stated with a probability, from the readings above and the drawing
that was used; it is never a certainty. The vehicle maker's instructions and the
local rules come first.


________________________________________
Date, signature
)");
}

TEST(Sheet, ProbabilitiesAreNeverCertain) {
  EXPECT_EQ(format_probability(0.93), "about 93 %");
  EXPECT_EQ(format_probability(1.0), "above 99 %");
  EXPECT_EQ(format_probability(0.995), "above 99 %");
  EXPECT_EQ(format_probability(0.0), "below 1 %");
  EXPECT_EQ(format_probability(std::numeric_limits<double>::quiet_NaN()), "not reckoned");
  Sheet sheet = small_sheet();
  sheet.cause_probability = sheet.proof_probability.emplace(1.0);
  sheet.also_possible = {{"other", 0.0}};
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))}) {
    EXPECT_FALSE(holds(text, "100 %"));
    EXPECT_TRUE(holds(text, "above 99 %"));
    EXPECT_TRUE(holds(text, "other: below 1 %"));
  }
}

TEST(Sheet, WhatIsNotDrawnIsAlwaysPossible) {
  Sheet sheet = small_sheet();
  sheet.also_possible.clear();
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))})
    EXPECT_TRUE(holds(text, "not on this drawing: not reckoned"));
}

TEST(Sheet, WhatIsLeftBehindStandsFirstAndLoud) {
  Sheet sheet = small_sheet();
  sheet.left_behind = {"stand-in 120R at B7:1", std::string(100, 'x')};
  const std::string text = format_sheet_text(sheet), page = seen(format_sheet_html(sheet));
  EXPECT_LT(text.find("LEFT BEHIND"), text.find("Vehicle"));
  EXPECT_LT(page.find("LEFT BEHIND"), page.find("Vehicle"));
  EXPECT_TRUE(holds(text, "** - stand-in 120R at B7:1 "));
  for (const std::string& one : {text, page}) EXPECT_FALSE(holds(one, "has been undone"));
}

TEST(Sheet, ARepairWithoutProofIsSaid) {
  Sheet sheet = small_sheet();
  sheet.proof_probability.reset();
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))})
    EXPECT_TRUE(holds(text, "NOT PROVEN"));
  sheet.correction.clear();
  sheet.cause.clear();
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))}) {
    EXPECT_FALSE(holds(text, "NOT PROVEN"));
    EXPECT_TRUE(holds(text, "Nothing has been repaired."));
    EXPECT_TRUE(holds(text, "No cause has been found yet."));
  }
}

TEST(Sheet, TheMakerComesFirst) {
  for (const std::string& text : {format_sheet_text({}), seen(format_sheet_html({}))})
    EXPECT_TRUE(holds(flowing(text), "The vehicle maker's instructions and the local rules come first."));
}

TEST(Sheet, AReadingThatDoesNotFitIsMarked) {
  Sheet sheet = small_sheet();
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))})
    EXPECT_FALSE(holds(text, "! "));
  sheet.readings[0].contradicts = true;
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))}) {
    EXPECT_TRUE(holds(text, "! volts"));
    EXPECT_TRUE(holds(text, "! does not fit"));
  }
}

TEST(Sheet, MoneyAddsUp) {
  Sheet sheet = small_sheet();
  sheet.parts = {{"terminal", "own-1", 3.0, 0.335}, {"seal", "", 1.0, 6.8}};
  sheet.labour_rate_per_hour = 90.0;
  sheet.tax_percent = 19.0;
  sheet.currency = "EUR";
  std::vector<std::string> lines;
  for (const MoneyLine& line : money_lines(sheet)) lines.push_back(line.what + " = " + line.amount);
  EXPECT_EQ(lines,
            (std::vector<std::string>{"Parts = 7.81 EUR", "Work, 1 h 5 min at 90.00 an hour = 97.50 EUR",
                                      "Sum without tax = 105.31 EUR", "Tax 19 % = 20.01 EUR", "Sum = 125.32 EUR"}));
  for (const std::string& text : {format_sheet_text(sheet), seen(format_sheet_html(sheet))})
    EXPECT_TRUE(holds(text, "125.32 EUR"));
}

TEST(Sheet, APartWithoutAPriceIsNotCountedAsFree) {
  Sheet sheet = small_sheet();
  sheet.parts = {{"terminal", "", 1.0, 2.0}, {"plug", "", 1.0, {}}};
  EXPECT_EQ(money_lines(sheet).back().what, "Sum of what has a price");
  sheet.parts = {{"plug", "", 1.0, {}}};
  EXPECT_TRUE(money_lines(sheet).empty());
  sheet.parts = {{"plug", "", 1.0, std::numeric_limits<double>::infinity()}};
  EXPECT_TRUE(money_lines(sheet).empty());
}

TEST(Sheet, TimeIsSaidInHours) {
  EXPECT_EQ(time_words(0.4), "0 min");
  EXPECT_EQ(time_words(59.6), "1 h");
  EXPECT_EQ(time_words(125.0), "2 h 5 min");
  EXPECT_EQ(time_words(-1.0), "?");
}

TEST(SheetHtml, NeedsNothingElse) {
  const std::string html = format_sheet_html(small_sheet());
  for (const char* outside : {"<script", "http:", "https:", "url(", "@import", "src=", "<link", "href"})
    EXPECT_FALSE(holds(html, outside)) << outside;
  EXPECT_TRUE(holds(html, "default-src &#39;none&#39;"));
}

// A sheet all of whose words are `word`.
Sheet all_of(const std::string& word) {
  Sheet sheet;
  for (std::string* text :
       {&sheet.number, &sheet.workshop, &sheet.vehicle, &sheet.customer, &sheet.complaint, &sheet.opened, &sheet.closed,
        &sheet.technician, &sheet.cause, &sheet.correction, &sheet.proof, &sheet.currency})
    *text = word;
  sheet.reasons = sheet.left_behind = sheet.found_on_the_way = sheet.repeat_worth = {word, word};
  sheet.readings = {{word, word, word, word, word, word, true}};
  sheet.codes = {{word, word, word, word, word}};
  sheet.parts = {{word, word, 1.0e9, 1.0e5}};
  sheet.cautions = {{word, word}};
  sheet.also_possible = {{word, 0.5}};
  sheet.labour_rate_per_hour = 1.0e6;
  sheet.minutes = 1.0e6;
  sheet.tax_percent = 19.0;
  return sheet;
}

TEST(SheetHtml, EveryFieldIsEscaped) {
  const std::string evil = "</td><script>alert('1')</script>&amp;\"\x1B";
  const std::string html = format_sheet_html(all_of(evil));
  EXPECT_FALSE(holds(html, "<script"));
  EXPECT_FALSE(holds(html, "</td><"));
  EXPECT_TRUE(holds(seen(html), "</td><script>alert('1')</script>&amp;\""));  // shown as it was typed
}

TEST(SheetText, NoLineIsWiderThan80Columns) {
  static const std::vector<std::string> pieces = {
      "volts",
      "J4:12@cab",
      " ",
      "\n",
      "a-word-that-is-much-too-long-for-any-of-the-columns-and-for-the-page-as-well-and-more",
      "\xE6\x97\xA5\xE6\x9C\xAC",
      "%",
      "\xC3\xA4",
      "\x1B",
      "\xFF",
      "23.8 V"};
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    std::string word;
    for (std::size_t count = rng.below(30); count > 0; --count) word += pieces[rng.below(pieces.size())];
    const std::string text = format_sheet_text(all_of(word));
    std::size_t begin = 0;
    for (std::size_t end = text.find('\n'); end != std::string::npos; end = text.find('\n', begin)) {
      const std::string line = text.substr(begin, end - begin);
      EXPECT_LE(column_count(line), 80U) << line;
      for (const char c : line) EXPECT_GE(static_cast<unsigned char>(c), 0x20U);
      begin = end + 1;
    }
    EXPECT_EQ(XmlCheck(format_sheet_html(all_of(word))).run(), "");
  }
}

TEST(SheetHtml, ALongSheetIsSetSmaller) {
  Sheet sheet = small_sheet();
  EXPECT_TRUE(holds(format_sheet_html(sheet), "<body>"));
  sheet.readings.assign(18, sheet.readings[0]);
  EXPECT_TRUE(holds(format_sheet_html(sheet), "<body class=\"many\">"));
  sheet.readings.assign(40, sheet.readings[0]);
  EXPECT_TRUE(holds(format_sheet_html(sheet), "<body class=\"very-many\">"));
}

}  // namespace
}  // namespace halfsplit::report
