// SPDX-License-Identifier: Apache-2.0
#include "report/svg.h"

#include <gtest/gtest.h>

#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

TEST(Svg, EscapesWhatXmlReserves) {
  EXPECT_EQ(escape_xml("a<b>&\"c'"), "a&lt;b&gt;&amp;&quot;c&#39;");
  EXPECT_EQ(escape_xml("\xC3\xA4\xE2\x84\xA6"), "\xC3\xA4\xE2\x84\xA6");
}

// XML 1.0, production 2: no control characters but tab, line feed and carriage return; no U+FFFE, U+FFFF.
TEST(Svg, ReplacesWhatXmlForbids) {
  const std::string replaced = "\xEF\xBF\xBD";
  EXPECT_EQ(escape_xml(std::string("\0", 1)), replaced);
  EXPECT_EQ(escape_xml("\x1B"), replaced);
  EXPECT_EQ(escape_xml("\xFF"), replaced);
  EXPECT_EQ(escape_xml("\xED\xA0\x80"), replaced + replaced + replaced);  // a surrogate
  EXPECT_EQ(escape_xml("\xEF\xBF\xBF"), replaced);
  EXPECT_EQ(escape_xml("\t\n"), "\t\n");
}

TEST(Svg, NumbersHaveTwoDecimalsAtMost) {
  EXPECT_EQ(svg_number(1.2), "1.2");
  EXPECT_EQ(svg_number(2.0), "2");
  EXPECT_EQ(svg_number(0.005), "0.01");
  EXPECT_EQ(svg_number(4.1155), "4.12");
  EXPECT_EQ(svg_number(-0.25), "-0.25");
  EXPECT_EQ(svg_number(3.07), "3.07");
}

TEST(Svg, TextIsCutToFit) {
  EXPECT_EQ(fit_text("short", 10.0, 100), "short");
  const std::string cut = fit_text("a name that is much too long", 10.0, 60);
  EXPECT_LE(text_width(cut, 10.0), 62);
  EXPECT_EQ(cut.substr(0, 4), "a na");
  EXPECT_TRUE(cut.ends_with("\xE2\x80\xA6"));
  EXPECT_TRUE(XmlCheck("<a>" + fit_text(std::string(50, '\xC3'), 10.0, 60) + "</a>").run().starts_with("not UTF-8"));
}

TEST(Svg, WiderTextsAreWider) {
  EXPECT_LT(text_width("iiii", 10.0), text_width("WWWW", 10.0));
  EXPECT_LT(text_width("ab", 10.0), text_width("ab", 12.0));
  EXPECT_GE(text_width("\xE6\x97\xA5", 10.0), 10);
}

// The checker itself: it must see what is wrong.
TEST(XmlCheckTest, SeesWhatIsWrong) {
  EXPECT_EQ(XmlCheck("<a b=\"1\"><c/>x &amp; y</a>\n").run(), "");
  for (const char* bad : {"<a>", "<a></b>", "<a b=1/>", "<a b=\"1\" b=\"2\"/>", "<a>&nbsp;</a>", "<a>&</a>", "<a/><b/>",
                          "<a>\x01</a>", "<a>\xFF</a>", "<a b=\"<\"/>", "text", "<a></a></a>"})
    EXPECT_NE(XmlCheck(bad).run(), "") << bad;
}

}  // namespace
}  // namespace halfsplit::report
