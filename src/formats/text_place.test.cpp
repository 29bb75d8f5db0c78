// SPDX-License-Identifier: Apache-2.0
#include "formats/text_place.h"

#include <gtest/gtest.h>

#include <string>

#include "formats/toml_tree.h"

namespace halfsplit::formats {
namespace {

// Each capital letter of the value must be found where it stands in the file (TOML 1.0.0, String).
void expect_places(const std::string& file) {
  SCOPED_TRACE(file);
  const TomlParse parse = parse_toml(file, 0);
  ASSERT_TRUE(parse.ok) << parse.error.message;
  const TomlValue& value = parse.root.entries.front().value;
  const text::Source source("f", file);
  TextPlace place(source, value.at);
  for (std::size_t i = 0; i < value.text.size(); ++i) {
    if (value.text[i] < 'A' || value.text[i] > 'Z') continue;
    const text::Position at = place.at(i);
    EXPECT_EQ(source.text()[source.offset(at.line, at.column)], value.text[i]) << "offset " << i;
  }
  EXPECT_EQ(place.at(0).line, TextPlace(source, value.at).at(0).line) << "going back starts again";
}

TEST(TextPlace, FollowsQuotesEscapesAndLineJoins) {
  expect_places("x = \"aB cD\"\n");
  expect_places("x = 'aB\\tD'\n");
  expect_places("x = \"\\tB\\\"C\\u00e4D\\U0001F527E\"\n");
  expect_places(
      "x = \"\xC3\xA4"
      "B\xF0\x9F\x94\xA7"
      "C\"\n");
  expect_places("x = \"\"\"\nAb\n  C \\\n   D\n\"\"\"\n");
  expect_places("x = \"\"\"A\r\nB\r\nC\"\"\"\r\n");
  expect_places("x = '''\nA\n''B'''\n");
}

}  // namespace
}  // namespace halfsplit::formats
