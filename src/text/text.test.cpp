// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "text/natural_order.h"
#include "text/path.h"
#include "text/source.h"
#include "text/utf8.h"

namespace halfsplit::text {
namespace {

// RFC 3629, section 3 and 4: the valid ranges and what they shut out.
TEST(Utf8, FindsTheFirstInvalidByte) {
  EXPECT_EQ(find_invalid_utf8("plain"), std::nullopt);
  EXPECT_EQ(find_invalid_utf8("Öldruck 油温 \xF0\x9F\x94\xA7"), std::nullopt);
  EXPECT_EQ(find_invalid_utf8("ab\xFF"), 2U);
  EXPECT_EQ(find_invalid_utf8("ab\xC3"), 2U);            // cut short
  EXPECT_EQ(find_invalid_utf8("\xC0\xAF"), 0U);          // overlong
  EXPECT_EQ(find_invalid_utf8("x\xED\xA0\x80"), 1U);     // surrogate
  EXPECT_EQ(find_invalid_utf8("\xF4\x90\x80\x80"), 0U);  // above U+10FFFF
  EXPECT_EQ(find_invalid_utf8("\xE2\x82(\xAC"), 0U);
}

TEST(Utf8, CountsCharactersNotBytes) {
  EXPECT_EQ(count_characters("Öl"), 2U);
  EXPECT_EQ(count_characters("\xFF\xFE"), 2U);
  EXPECT_EQ(utf8_length(0x7F), 1U);
  EXPECT_EQ(utf8_length(0xD6), 2U);
  EXPECT_EQ(utf8_length(0x6CB9), 3U);
  EXPECT_EQ(utf8_length(0x1F527), 4U);
  EXPECT_EQ(shorten("Öldruck", 2), "Öl...");
  EXPECT_EQ(shorten("Öl", 2), "Öl");
}

TEST(NaturalOrder, DigitsCompareAsNumbers) {
  std::vector<std::string> pins{"10", "2", "A10", "A9", "1", "A", "02", "87a", "87", "B1"};
  std::sort(pins.begin(), pins.end(), natural_less);
  EXPECT_EQ(pins, (std::vector<std::string>{"1", "02", "2", "10", "87", "87a", "A", "A9", "A10", "B1"}));
  EXPECT_FALSE(natural_less("99999999999999999999999", "99999999999999999999998"));
  EXPECT_FALSE(natural_less("5", "5"));
}

TEST(Source, LinesAndPlacesAgree) {
  const Source source("f", "one\r\nÖl x\n");
  EXPECT_EQ(source.line_count(), 3U);
  EXPECT_EQ(source.line(1), "one");
  EXPECT_EQ(source.line(2), "Öl x");
  EXPECT_EQ(source.line(3), "");
  EXPECT_EQ(source.line(9), "");
  EXPECT_EQ(source.offset(2, 4), source.text().find('x'));
  EXPECT_EQ(source.offset(2, 99), source.text().find('x') + 1);
  const Position at = source.position(source.text().find('x'));
  EXPECT_EQ(at.line, 2U);
  EXPECT_EQ(at.column, 4U);
  EXPECT_EQ(source.span(2, 4, 1, 100).source_line, "Öl x");
  EXPECT_EQ(source.span(2, 4, 1, 3).source_line, "");
}

TEST(Path, JoinsFromTheFolderOfTheFile) {
  EXPECT_EQ(join_path("looms/tanker.loom.toml", "parts/lamps.loom.toml"), "looms/parts/lamps.loom.toml");
  EXPECT_EQ(join_path("looms/tanker.loom.toml", "../x.toml"), "x.toml");
  EXPECT_EQ(join_path("tanker.loom.toml", "../x.toml"), "../x.toml");
  EXPECT_EQ(join_path("/a/b/c.toml", "../../../x"), "/x");
  EXPECT_EQ(normal_path("a/./b/../c"), "a/c");
  EXPECT_EQ(normal_path(""), ".");
  EXPECT_TRUE(is_absolute_path("/a"));
  EXPECT_TRUE(is_absolute_path("C:/a"));
  EXPECT_FALSE(is_absolute_path("a/b"));
}

}  // namespace
}  // namespace halfsplit::text
