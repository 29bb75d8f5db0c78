// SPDX-License-Identifier: Apache-2.0
#include "base/diagnostic.h"

#include <gtest/gtest.h>

namespace halfsplit::base {
namespace {

Diagnostic at(std::string line, std::size_t column, std::size_t length = 1) {
  Diagnostic d = make_error("loom.unknown-point", "no point J4:21");
  d.where = Span{"van.toml", 7, column, length, std::move(line)};
  return d;
}

// The two lines after the first: the source line and what stands under it.
std::string block(const Diagnostic& d) {
  const std::string text = format_diagnostic(d);
  return text.substr(text.find('\n') + 1);
}

TEST(FormatDiagnostic, SaysPlaceSeverityMessageCodeAndHint) {
  Diagnostic d = at("to = \"J4:21\"", 7, 5);
  d.hint = "did you mean J4:12?";
  EXPECT_EQ(format_diagnostic(d),
            "van.toml:7:7: error: no point J4:21 [loom.unknown-point]\n"
            "    to = \"J4:21\"\n"
            "          ^~~~~\n"
            "    hint: did you mean J4:12?\n");
}

TEST(FormatDiagnostic, WithoutAPlaceThereIsNoCaret) {
  EXPECT_EQ(format_diagnostic(make_warning("job.empty", "no readings yet")), "warning: no readings yet [job.empty]\n");
  Diagnostic d = make_error("", "cannot read");
  d.where.file = "van.toml";
  EXPECT_EQ(format_diagnostic(d), "van.toml: error: cannot read\n");
}

TEST(FormatDiagnostic, CaretCountsCharactersNotBytes) {
  // Three letters of two bytes each stand before the place; the caret stands under the x all the same.
  EXPECT_EQ(block(at("\u00d6\u00d6\u00b2 x", 5)), "    \u00d6\u00d6\u00b2 x\n        ^\n");
}

TEST(FormatDiagnostic, TabsBeforeThePlaceAreKeptSoTheCaretStaysInColumn) {
  EXPECT_EQ(block(at("\ta\tx", 4)), "    \ta\tx\n    \t \t^\n");
}

TEST(FormatDiagnostic, APlaceAfterTheEndStillHasItsCaret) {
  EXPECT_EQ(block(at("abc", 4)), "    abc\n       ^\n");
  EXPECT_EQ(block(at("abc", 9)), "    abc\n            ^\n");
}

TEST(FormatDiagnostic, UnderliningStopsAtTheEndOfTheLine) {
  EXPECT_EQ(block(at("abcdef", 4, 50)), "    abcdef\n       ^~~\n");
}

TEST(FormatDiagnostic, ALongLineIsCutAroundThePlace) {
  const std::string line = std::string(300, 'a') + "X" + std::string(300, 'b');
  const std::string text = block(at(line, 301));
  const std::string shown = text.substr(0, text.find('\n'));
  const std::string under = text.substr(text.find('\n') + 1);
  EXPECT_LT(shown.size(), 140U);
  EXPECT_EQ(shown[under.find('^')], 'X');
  EXPECT_EQ(shown.substr(0, 7), "    ...");
  EXPECT_EQ(shown.substr(shown.size() - 3), "...");
}

TEST(FormatDiagnostic, BrokenUtf8IsNoHarm) {
  for (const std::string& line : {std::string("\xff\xfe x"), std::string("\x80\x80"), std::string("\xc3")}) {
    for (std::size_t column = 0; column < 6; ++column)
      EXPECT_NE(format_diagnostic(at(line, column)).find('^'), std::string::npos);
  }
}

TEST(FormatDiagnostics, OneAfterTheOther) {
  EXPECT_EQ(format_diagnostics({make_error("a", "one"), make_warning("b", "two")}),
            "error: one [a]\nwarning: two [b]\n");
  EXPECT_EQ(format_diagnostics({}), "");
}

TEST(HasError, WarningsAndNotesAreNone) {
  EXPECT_FALSE(has_error({}));
  EXPECT_FALSE(has_error({make_warning("b", "two")}));
  EXPECT_TRUE(has_error({make_warning("b", "two"), make_error("a", "one")}));
}

}  // namespace
}  // namespace halfsplit::base
