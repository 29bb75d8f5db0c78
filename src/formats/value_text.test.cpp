// SPDX-License-Identifier: Apache-2.0
#include "formats/value_text.h"

#include <gtest/gtest.h>

#include <string>
#include <variant>
#include <vector>

namespace halfsplit::formats {
namespace {

using base::Unit;

double number(std::string_view text, Unit unit) {
  const Parsed<double> parsed = parse_number(text, unit);
  EXPECT_TRUE(std::holds_alternative<double>(parsed)) << text;
  return std::holds_alternative<double>(parsed) ? std::get<double>(parsed) : -1.0;
}

std::string number_code(std::string_view text, Unit unit) {
  const Parsed<double> parsed = parse_number(text, unit);
  return std::holds_alternative<double>(parsed) ? "" : std::get<TextProblem>(parsed).code;
}

TEST(ValueText, NumbersInTheUnitAsked) {
  EXPECT_DOUBLE_EQ(number("4k7", Unit::kOhm), 4700.0);
  EXPECT_DOUBLE_EQ(number("0R3", Unit::kOhm), 0.3);
  EXPECT_DOUBLE_EQ(number("350mA", Unit::kAmpere), 0.35);
  EXPECT_DOUBLE_EQ(number("10 min", Unit::kMinute), 10.0);
  EXPECT_DOUBLE_EQ(number("30 s", Unit::kMinute), 0.5);
  EXPECT_DOUBLE_EQ(number("2.5", Unit::kMinute), 2.5);
  EXPECT_DOUBLE_EQ(number("0.75mm2", Unit::kSquareMillimetre), 0.75);
  EXPECT_DOUBLE_EQ(number("80 degC", Unit::kNone), 80.0);
  EXPECT_EQ(number_code("5V", Unit::kOhm), "bad-unit");
  EXPECT_EQ(number_code("5 min", Unit::kNone), "bad-unit");
  EXPECT_EQ(number_code("OL", Unit::kOhm), "bad-number");
  EXPECT_EQ(number_code("1e400", Unit::kOhm), "bad-number");
  EXPECT_EQ(number_code(std::string(500, '9'), Unit::kOhm), "bad-number");
  EXPECT_EQ(number_code("", Unit::kOhm), "bad-number");
}

// Areas: shared facts, copper_awg.csv (HyperPhysics wire gauge table, mm2 converted by us).
TEST(ValueText, AmericanWireGauges) {
  EXPECT_NEAR(*parse_awg("AWG18"), 0.8230, 0.0005);
  EXPECT_NEAR(*parse_awg("14 awg"), 2.0809, 0.001);
  EXPECT_NEAR(*parse_awg("AWG 2/0"), 67.4326, 0.05);
  EXPECT_NEAR(*parse_awg("AWG1/0"), 53.4728, 0.05);
  EXPECT_NEAR(*parse_awg("1/0"), 53.4728, 0.05);
  EXPECT_NEAR(*parse_awg(" 4/0 "), 107.2193, 0.1);
  EXPECT_NEAR(number("AWG20", Unit::kSquareMillimetre), 0.5176, 0.0005);
  for (const char* bad : {"AWG", "AWG99", "AWG5/0", "AWG-3", "18", "0", "AWG1.5", "0/0", "5/0", "/0", "1/1"})
    EXPECT_FALSE(parse_awg(bad)) << bad;
}

TEST(ValueText, ColoursOfIec60757) {
  EXPECT_EQ(std::get<std::string>(parse_colour("RD/WH")), "RD/WH");
  EXPECT_EQ(std::get<std::string>(parse_colour("RD-WH-BK")), "RD/WH/BK");
  EXPECT_EQ(std::get<std::string>(parse_colour("GNYE")), "GNYE");
  const auto problem = [](std::string_view text) { return std::get<TextProblem>(parse_colour(text)); };
  EXPECT_EQ(problem("RD/ws").offset, 3U);
  EXPECT_EQ(problem("ws").hint, "IEC 60757 writes it WH");
  EXPECT_EQ(problem("ye").hint, "in capitals: YE");
  EXPECT_EQ(problem("RD/WH/BK/GN").code, "unknown-colour");
  EXPECT_EQ(problem("RD/").code, "unknown-colour");
  EXPECT_EQ(problem("").code, "unknown-colour");
}

TEST(ValueText, ListsOfCavities) {
  const auto list = [](std::string_view text) { return std::get<std::vector<std::string>>(parse_cavities(text)); };
  EXPECT_EQ(list("1-4"), (std::vector<std::string>{"1", "2", "3", "4"}));
  EXPECT_EQ(list(" 1, 2 ,5-6,A"), (std::vector<std::string>{"1", "2", "5", "6", "A"}));
  EXPECT_EQ(list("A9-A11"), (std::vector<std::string>{"A9", "A10", "A11"}));
  EXPECT_EQ(list("+,-,S"), (std::vector<std::string>{"+", "-", "S"}));
  EXPECT_EQ(list("A-B"), (std::vector<std::string>{"A-B"}));  // a name, not a range
  EXPECT_EQ(list("1-2000").size(), kMostCavities);
  const auto code = [](std::string_view text) { return std::get<TextProblem>(parse_cavities(text)).code; };
  EXPECT_EQ(code(""), "bad-pins");
  EXPECT_EQ(code("1,,2"), "bad-pins");
  EXPECT_EQ(code("1-2001"), "bad-pins");
  EXPECT_EQ(code("1-1500,2001-3000"), "bad-pins");
  EXPECT_EQ(code("0-2147483647"), "bad-pins");
  EXPECT_EQ(code("1-3,2"), "duplicate-cavity");
  for (const char* crossed : {"B1-A9", "A1-B9", "A1-9", "1-A9", "1,B1-A9"})
    EXPECT_EQ(code(crossed), "bad-pins") << crossed;
  EXPECT_EQ(list("A-9"), (std::vector<std::string>{"A-9"}));  // only one end has a number: a name
}

TEST(ValueText, Names) {
  EXPECT_FALSE(check_name("oil lamp, left"));
  EXPECT_FALSE(check_name("油温"));
  EXPECT_FALSE(check_name(std::string(80, 'x')));
  EXPECT_FALSE(check_name("a.1", true));
  for (const std::string bad :
       {"", " a", "a ", "a.b", "a@b", "a:b", "a/b", "a\tb", "a'b", "a\"b", "a[b", "a>b", "a\x7F"})
    EXPECT_TRUE(check_name(bad)) << bad;
  EXPECT_TRUE(check_name(std::string(81, 'x')));
}

}  // namespace
}  // namespace halfsplit::formats
