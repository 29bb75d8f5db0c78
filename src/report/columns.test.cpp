// SPDX-License-Identifier: Apache-2.0
#include "report/columns.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "text/utf8.h"

namespace halfsplit::report {
namespace {

using Lines = std::vector<std::string>;

TEST(Columns, CountsWhatIsSeen) {
  EXPECT_EQ(column_count("abc"), 3U);
  EXPECT_EQ(column_count("\xC3\xA4"), 1U);
  EXPECT_EQ(column_count("\xE6\x97\xA5\xE6\x9C\xAC"), 4U);  // UAX 11: wide
  EXPECT_EQ(column_count("e\xCC\x81"), 1U);                 // a combining acute
  EXPECT_EQ(column_count("\xF0\x9F\x9A\x9B"), 2U);
}

TEST(Columns, BreaksAtBlanks) {
  EXPECT_EQ(break_lines("one two three", 7), (Lines{"one two", "three"}));
  EXPECT_EQ(break_lines("one  two", 20), (Lines{"one two"}));
  EXPECT_EQ(break_lines("one\ntwo\n\nthree", 20), (Lines{"one", "two", "", "three"}));
  EXPECT_EQ(break_lines("", 20), (Lines{""}));
  EXPECT_EQ(break_lines("abcdefgh", 3), (Lines{"abc", "def", "gh"}));
  EXPECT_EQ(break_lines("about 93 %", 9), (Lines{"about", "93 %"}));
}

TEST(Columns, NothingMovesTheCursor) {
  for (const char* bad : {"\x1B[2J", "\x07", "\x7F", "\xC2\x9B", "\xFF", "\xE2\x80\xAE"}) {
    EXPECT_NE(plain_line(bad), bad);
    EXPECT_EQ(plain_line(bad).substr(0, 3), "\xEF\xBF\xBD");
    EXPECT_EQ(break_lines(bad, 10).front().substr(0, 3), "\xEF\xBF\xBD");
  }
  EXPECT_EQ(plain_line("a\tb\nc\rd"), "a b c d");
}

TEST(Columns, PadsByColumns) {
  EXPECT_EQ(pad_right("\xE6\x97\xA5", 4), "\xE6\x97\xA5  ");
  EXPECT_EQ(pad_left("ab", 4), "  ab");
  EXPECT_EQ(pad_left("abcde", 4), "abcde");
}

TEST(Columns, TablesBreakTheirCells) {
  EXPECT_EQ(format_table({{"what", 6, false}, {"sum", 5, true}}, {{"one two", "1.50"}, {"x"}}),
            "what      sum\n"
            "------  -----\n"
            "one      1.50\n"
            "two\n"
            "x\n");
}

TEST(Columns, NoLineIsEverTooWide) {
  static const Lines pieces = {"a",
                               "word",
                               " ",
                               "\n",
                               "\t",
                               "%",
                               "\xE6\x97\xA5",
                               "\xCC\x81",
                               "\xFF",
                               "\x1B",
                               "long-long-long-word",
                               "\xF0\x9F\x9A\x9B"};
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    std::string text;
    for (std::size_t count = rng.below(60); count > 0; --count) text += pieces[rng.below(pieces.size())];
    const std::size_t width = 2 + rng.below(30);
    for (const std::string& line : break_lines(text, width)) {
      EXPECT_LE(column_count(line), width);
      EXPECT_FALSE(text::find_invalid_utf8(line));
      EXPECT_EQ(line.find('\n'), std::string::npos);
    }
  }
}

}  // namespace
}  // namespace halfsplit::report
