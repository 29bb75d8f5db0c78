// SPDX-License-Identifier: Apache-2.0
#include "text/encodings.h"

#include <gtest/gtest.h>

namespace halfsplit::text {
namespace {

using namespace std::string_view_literals;

TEST(Encodings, Utf8StaysAndLosesItsMark) {
  EXPECT_EQ(decode_text("L\xC3\xA4nge").text, "L\xC3\xA4nge");
  EXPECT_EQ(decode_text("\xEF\xBB\xBFL").text, "L");
  EXPECT_EQ(decode_text("").from, "");
}

TEST(Encodings, Windows1252) {
  const Decoded decoded = decode_text("L\xE4nge 5 \x80");
  EXPECT_EQ(decoded.from, "Windows-1252");
  EXPECT_EQ(decoded.text, "L\xC3\xA4nge 5 \xE2\x82\xAC");
}

TEST(Encodings, Utf16OfBothOrdersWithAndWithoutMark) {
  EXPECT_EQ(decode_text("\xFF\xFEL\0\xE4\0"sv).text, "L\xC3\xA4");
  EXPECT_EQ(decode_text("\xFE\xFF\0L\0\xE4"sv).text, "L\xC3\xA4");
  EXPECT_EQ(decode_text("A\0;\0"sv).text, "A;");
  EXPECT_EQ(decode_text("\0A\0;"sv).text, "A;");
  EXPECT_EQ(decode_text("\xFF\xFE\x3D\xD8\x00\xDE"sv).text, "\xF0\x9F\x98\x80");
  EXPECT_EQ(decode_text("\xFF\xFE\x3D\xD8"sv).text, "\xEF\xBF\xBD");  // half a pair
}

TEST(Encodings, DamagedUtf8IsNotTakenForSomethingElse) {
  const Decoded decoded = decode_text("\xC3\xA4 and \xE4 z");
  EXPECT_EQ(decoded.from, "");
  EXPECT_EQ(decoded.text, "\xC3\xA4 and \xE4 z");
}

}  // namespace
}  // namespace halfsplit::text
