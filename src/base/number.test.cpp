// SPDX-License-Identifier: Apache-2.0
#include "base/number.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>

#include "base/rng.h"

namespace halfsplit::base {
namespace {

constexpr std::uint64_t kSeed = 20240601;

struct Form {
  std::string_view text;
  double value;  // exactly: the double nearest to what was written
  Unit unit;
};

void expect_forms(const std::vector<Form>& forms) {
  for (const Form& form : forms) {
    const Result<Quantity> read = parse_quantity(form.text);
    ASSERT_TRUE(read.ok()) << form.text << "\n" << format_diagnostics(read.diagnostics());
    EXPECT_EQ(read->value, form.value) << form.text;
    EXPECT_EQ(read->unit, form.unit) << form.text;
    EXPECT_FALSE(read->over_range) << form.text;
    EXPECT_TRUE(read.diagnostics().empty()) << form.text;
  }
}

// A letter in the place of the decimal mark: IEC 60062 for R, k and M.
TEST(ParseQuantity, LetterForThePoint) {
  expect_forms({{"4k7", 4700, Unit::kNone},
                {"4K7", 4700, Unit::kNone},
                {"1M2", 1.2e6, Unit::kNone},
                {"0R3", 0.3, Unit::kOhm},
                {"4R7", 4.7, Unit::kOhm},
                {"4r7", 4.7, Unit::kOhm},
                {"R47", 0.47, Unit::kOhm},
                {"120R", 120, Unit::kOhm},
                {"3V3", 3.3, Unit::kVolt},
                {"1A5", 1.5, Unit::kAmpere},
                {"2u2", 2.2e-6, Unit::kNone},
                {"4k7ohm", 4700, Unit::kOhm},
                {"4k7 \u03a9", 4700, Unit::kOhm},
                {"4R7 ohm", 4.7, Unit::kOhm},
                {"-1k5", -1500, Unit::kNone}});
}

TEST(ParseQuantity, PlainNumbers) {
  expect_forms({{"120", 120, Unit::kNone},
                {"  120 ", 120, Unit::kNone},
                {"0", 0, Unit::kNone},
                {"007", 7, Unit::kNone},
                {".5", 0.5, Unit::kNone},
                {"5.", 5, Unit::kNone},
                {"+5", 5, Unit::kNone},
                {"-0.3", -0.3, Unit::kNone},
                {"- 0.3", -0.3, Unit::kNone},
                {"23,8", 23.8, Unit::kNone},
                {"0,350", 0.35, Unit::kNone},
                {"1e3", 1000, Unit::kNone},
                {"4.7E-3", 0.0047, Unit::kNone},
                {"1k", 1000, Unit::kNone},
                {"1M", 1e6, Unit::kNone},
                {"4.7 k", 4700, Unit::kNone},
                {"1meg", 1e6, Unit::kNone}});
}

TEST(ParseQuantity, UnitsAndPrefixes) {
  expect_forms({{"23.8V", 23.8, Unit::kVolt},
                {"23.8v", 23.8, Unit::kVolt},
                {"12 volts", 12, Unit::kVolt},
                {"12 V DC", 12, Unit::kVolt},
                {"-0.3 V", -0.3, Unit::kVolt},
                {"350mV", 0.35, Unit::kVolt},
                {"12 mA", 0.012, Unit::kAmpere},
                {"1.2A", 1.2, Unit::kAmpere},
                {"15 amps", 15, Unit::kAmpere},
                {"40 uA", 40e-6, Unit::kAmpere},
                {"40 \u00b5A", 40e-6, Unit::kAmpere},
                {"120 ohm", 120, Unit::kOhm},
                {"120 ohms", 120, Unit::kOhm},
                {"120 OHM", 120, Unit::kOhm},
                {"120\u03a9", 120, Unit::kOhm},
                {"120 \u2126", 120, Unit::kOhm},
                {"4.7kohm", 4700, Unit::kOhm},
                {"4.7 k\u03a9", 4700, Unit::kOhm},
                {"4.7 k ohm", 4700, Unit::kOhm},
                {"10 Mohm", 1e7, Unit::kOhm},
                {"10 MOHM", 1e7, Unit::kOhm},
                {"10 megohm", 1e7, Unit::kOhm},
                {"2 kilohms", 2000, Unit::kOhm},
                {"5 mohm", 0.005, Unit::kOhm},
                {"20mR", 0.02, Unit::kOhm},
                {"3 kR", 3000, Unit::kOhm},
                {"1.5MR", 1.5e6, Unit::kOhm},
                {"50 uR", 50e-6, Unit::kOhm},
                {"5%", 5, Unit::kPercent},
                {"5 percent", 5, Unit::kPercent},
                {"3 min", 3, Unit::kMinute},
                {"3 MIN", 3, Unit::kMinute},
                {"1.5 h", 90, Unit::kMinute},
                {"90 s", 90, Unit::kSecond},
                {"250 ms", 0.25, Unit::kSecond},
                {"2.1m", 2.1, Unit::kMetre},
                {"15 cm", 0.15, Unit::kMetre},
                {"300mm", 0.3, Unit::kMetre},
                {"0.5mm2", 0.5, Unit::kSquareMillimetre},
                {"0.5 mm\u00b2", 0.5, Unit::kSquareMillimetre},
                {"80C", 80, Unit::kCelsius},
                {"80degC", 80, Unit::kCelsius},
                {"-20 \u00b0C", -20, Unit::kCelsius},
                {"80\u2103", 80, Unit::kCelsius},
                {"21W", 21, Unit::kWatt},
                {"1.5 kW", 1500, Unit::kWatt}});
}

TEST(ParseQuantity, CapitalMIsMegaAndSmallMIsMetreOrMilli) {
  EXPECT_EQ(parse_quantity("2M")->value, 2e6);
  EXPECT_EQ(parse_quantity("2M")->unit, Unit::kNone);
  EXPECT_EQ(parse_quantity("2m")->value, 2);
  EXPECT_EQ(parse_quantity("2m")->unit, Unit::kMetre);
  EXPECT_EQ(parse_quantity("2mohm")->value, 0.002);
  EXPECT_EQ(parse_quantity("2Mohm")->value, 2e6);
}

TEST(ParseQuantity, TypographicSignsAndSpaces) {
  expect_forms(
      {{"\u22120.3\u00a0V", -0.3, Unit::kVolt}, {"4.7\u202fkohm", 4700, Unit::kOhm}, {"1\tA", 1, Unit::kAmpere}});
}

TEST(ParseQuantity, OverRange) {
  const std::vector<std::pair<std::string_view, Unit>> shown{
      {"OL", Unit::kNone},       {"ol", Unit::kNone},         {"O.L", Unit::kNone},      {"0L", Unit::kNone},
      {"0.L", Unit::kNone},      {".OL", Unit::kNone},        {"OL.", Unit::kNone},      {" O.L ", Unit::kNone},
      {"-OL", Unit::kNone},      {"OL ohm", Unit::kOhm},      {"OLkohm", Unit::kOhm},    {"O.L M\u03a9", Unit::kOhm},
      {"OL V", Unit::kVolt},     {"over range", Unit::kNone}, {"overload", Unit::kNone}, {">60M", Unit::kNone},
      {"> 60 Mohm", Unit::kOhm}, {">OL", Unit::kNone}};
  for (const auto& [text, unit] : shown) {
    const Result<Quantity> read = parse_quantity(text);
    ASSERT_TRUE(read.ok()) << text << "\n" << format_diagnostics(read.diagnostics());
    EXPECT_TRUE(read->over_range) << text;
    EXPECT_EQ(read->unit, unit) << text;
  }
}

struct Refusal {
  std::string_view text;
  std::string_view code;
  std::string_view says;  // in the message or the hint
};

TEST(ParseQuantity, RefusesAndSaysHowToMend) {
  const std::vector<Refusal> refusals{
      {"", "number.empty", "OL"},
      {"   ", "number.empty", "4k7"},
      {"nan", "number.not-finite", "write OL"},
      {"-NaN", "number.not-finite", "write OL"},
      {"inf", "number.not-finite", "write OL"},
      {"-infinity", "number.not-finite", "write OL"},
      {"\u221e", "number.not-finite", "write OL"},
      {"open", "number.not-finite", "write OL"},
      {"1e400", "number.not-finite", "larger or smaller"},
      {"1e306 k", "number.not-finite", "larger or smaller"},
      {"1e-400", "number.not-finite", "larger or smaller"},
      {"1e99999999999999999999", "number.not-finite", "larger or smaller"},
      {">1e400", "number.not-finite", "larger or smaller"},
      {"1e308 h", "number.not-finite", "larger or smaller"},
      {"good", "number.malformed", "does not begin with a number"},
      {"-", "number.malformed", "does not begin with a number"},
      {".", "number.malformed", "does not begin with a number"},
      {"+-5", "number.malformed", "does not begin with a number"},
      {"--5", "number.malformed", "does not begin with a number"},
      {">-5", "number.malformed", "does not begin with a number"},
      {"<0.1 ohm", "number.malformed", "limit"},
      {"OL bananas", "number.malformed", "does not begin with a number"},
      {"k7", "number.malformed", "does not begin with a number"},
      {"1.2.3", "number.malformed", "decimal mark"},
      {"1,234.5", "number.malformed", "thousands"},
      {"1,234,567", "number.malformed", "thousands"},
      {"4k7.5", "number.malformed", "decimal mark"},
      {"12 13", "number.malformed", "goes on"},
      {"12 V 5", "number.malformed", "\"V 5\""},
      {"12V 0.3A", "number.malformed", "goes on"},
      {"0x10", "number.malformed", "goes on"},
      {"1_000", "number.malformed", "goes on"},
      {"4k7 kohm", "number.malformed", "goes on"},
      {"4R7 V", "number.malformed", "goes on"},
      {"4.k7", "number.malformed", "goes on"},
      {"2m5", "number.malformed", "goes on"},
      {"23.8 Vlots", "number.unknown-unit", "did you mean volts?"},
      {"23.8 bananas", "number.unknown-unit", "units are V, A, ohm"},
      {"1e", "number.unknown-unit", "\"e\""},
      {"12 MV", "number.unknown-unit", "write mV"},
      {"12 MA", "number.unknown-unit", "write mA"},
      {"80F", "number.unknown-unit", "Celsius"},
      {"12 kmin", "number.unknown-unit", "units are"},
      {"5 kC", "number.unknown-unit", "units are"},
  };
  for (const Refusal& refusal : refusals) {
    const Result<Quantity> read = parse_quantity(refusal.text);
    ASSERT_FALSE(read.ok()) << refusal.text << " was read as " << read->value;
    const Diagnostic& why = read.diagnostics().at(0);
    EXPECT_EQ(why.code, refusal.code) << refusal.text;
    EXPECT_NE((why.message + " " + why.hint).find(refusal.says), std::string::npos) << refusal.text << "\n"
                                                                                    << format_diagnostic(why);
    EXPECT_FALSE(why.hint.empty()) << refusal.text;
  }
}

TEST(ParseQuantity, ACommaThatMayMeanThousandsIsReadAsAPointWithAWarning) {
  const Result<Quantity> read = parse_quantity("1,234 ohm");
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(read->value, 1.234);
  ASSERT_EQ(read.diagnostics().size(), 1U);
  EXPECT_EQ(read.diagnostics()[0].severity, Severity::kWarning);
  EXPECT_EQ(read.diagnostics()[0].code, "number.comma");
}

TEST(ParseQuantity, AMessageShowsHostileTextTamely) {
  const Result<Quantity> read = parse_quantity(std::string("\x1b[31m\n") + std::string(500, 'z') + "\u03a9");
  ASSERT_FALSE(read.ok());
  const std::string& message = read.diagnostics()[0].message;
  EXPECT_LT(message.size(), 120U);
  EXPECT_EQ(message.find('\x1b'), std::string::npos);
  EXPECT_EQ(message.find('\n'), std::string::npos);
}

// A finite double with any sign, exponent and mantissa, zero and subnormals among them.
double any_double(Rng& rng) {
  for (;;) {
    const auto value = std::bit_cast<double>(rng.next());
    if (std::isfinite(value)) return value;
  }
}

TEST(FormatNumber, ReadsBackToTheSameDouble) {
  Rng rng(kSeed);
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  for (int i = 0; i < 20000; ++i) {
    const double value = i % 2 == 0 ? any_double(rng) : rng.log_uniform(1e-7, 1e7) * (rng.chance(0.5) ? 1 : -1);
    const std::string text = format_number(value);
    const Result<Quantity> read = parse_quantity(text);
    ASSERT_TRUE(read.ok()) << text;
    ASSERT_EQ(std::bit_cast<std::uint64_t>(read->value), std::bit_cast<std::uint64_t>(value)) << text;
    // The outside twin: the C library reads the same.
    ASSERT_EQ(std::strtod(text.c_str(), nullptr), value) << text;
  }
}

// Outside twin: the fewest digits with which the C library's "%.*e" comes back.
TEST(FormatNumber, IsTheShortest) {
  Rng rng(kSeed);
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  for (int i = 0; i < 2000; ++i) {
    const double value = any_double(rng);
    int digits = 1;
    char buffer[64];
    do {
      std::snprintf(buffer, sizeof buffer, "%.*e", digits - 1, value);
    } while (std::strtod(buffer, nullptr) != value && ++digits < 18);
    std::string text = format_number(value);
    text = text.substr(0, text.find('e'));
    const auto shown = std::count_if(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (std::fabs(value) >= 1e16 || (value != 0.0 && std::fabs(value) < 1e-5)) {
      EXPECT_EQ(shown, digits) << format_number(value);
    }
  }
}

TEST(FormatNumber, LaysOutForReading) {
  EXPECT_EQ(format_number(0.0), "0");
  EXPECT_EQ(format_number(-0.0), "-0");
  EXPECT_EQ(format_number(100000), "100000");  // not 1e+05
  EXPECT_EQ(format_number(0.1), "0.1");
  EXPECT_EQ(format_number(-23.8), "-23.8");
  EXPECT_EQ(format_number(0.00035), "0.00035");
  EXPECT_EQ(format_number(1e15), "1000000000000000");
  EXPECT_EQ(format_number(1e16), "1e16");
  EXPECT_EQ(format_number(1.25e-6), "1.25e-6");
  EXPECT_EQ(format_number(std::numeric_limits<double>::denorm_min()), "5e-324");
  EXPECT_EQ(format_number(std::numeric_limits<double>::max()), "1.7976931348623157e308");
}

TEST(FormatNumber, WhatIsNotANumberIsABug) {
  EXPECT_THROW((void)format_number(std::nan("")), Bug);
  EXPECT_THROW((void)format_number(INFINITY), Bug);
  EXPECT_THROW((void)format_significant(INFINITY, 3), Bug);
  EXPECT_THROW((void)format_quantity(std::nan(""), Unit::kVolt), Bug);
}

TEST(FormatSignificant, KeepsTheDigitsAskedFor) {
  EXPECT_EQ(format_significant(23.8, 4), "23.80");
  EXPECT_EQ(format_significant(23.8, 1), "20");
  EXPECT_EQ(format_significant(0.0001234, 2), "0.00012");
  EXPECT_EQ(format_significant(0.00001234, 2), "1.2e-5");
  EXPECT_EQ(format_significant(9.996, 3), "10.0");
  EXPECT_EQ(format_significant(123456, 3), "123000");
  EXPECT_EQ(format_significant(1.5e9, 3), "1500000000");
  EXPECT_EQ(format_significant(1.5e10, 3), "1.50e10");
  EXPECT_EQ(format_significant(-2.5, 2), "-2.5");
  EXPECT_EQ(format_significant(0.0, 4), "0");
}

// Outside twin: the C library's "%.*e".
TEST(FormatSignificant, RoundsAsTheCLibraryDoes) {
  Rng rng(kSeed);
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  for (int i = 0; i < 5000; ++i) {
    const double value = rng.log_uniform(1e-12, 1e12);
    const int digits = 1 + static_cast<int>(rng.below(9));
    char buffer[64];
    std::snprintf(buffer, sizeof buffer, "%.*e", digits - 1, value);
    EXPECT_EQ(std::strtod(format_significant(value, digits).c_str(), nullptr), std::strtod(buffer, nullptr)) << buffer;
  }
}

TEST(FormatQuantity, AsAMeterShowsIt) {
  const std::vector<std::tuple<double, Unit, std::string_view>> rows{{23.8, Unit::kVolt, "23.80 V"},
                                                                     {0.35, Unit::kVolt, "0.35 V"},
                                                                     {0.0352, Unit::kVolt, "35.2 mV"},
                                                                     {0.0, Unit::kVolt, "0.00 V"},
                                                                     {-1e-9, Unit::kVolt, "0.00 V"},
                                                                     {-0.3, Unit::kVolt, "-0.30 V"},
                                                                     {99.996, Unit::kVolt, "100.0 V"},
                                                                     {0.3, Unit::kOhm, "0.3 ohm"},
                                                                     {0.0052, Unit::kOhm, "5.2 mohm"},
                                                                     {120, Unit::kOhm, "120.0 ohm"},
                                                                     {4700, Unit::kOhm, "4.70 kohm"},
                                                                     {47000, Unit::kOhm, "47.0 kohm"},
                                                                     {470000, Unit::kOhm, "470 kohm"},
                                                                     {999.97, Unit::kOhm, "1.00 kohm"},
                                                                     {999960, Unit::kOhm, "1.00 Mohm"},
                                                                     {1e7, Unit::kOhm, "10.0 Mohm"},
                                                                     {5e9, Unit::kOhm, "5 Gohm"},
                                                                     {INFINITY, Unit::kOhm, "OL"},
                                                                     {0.012, Unit::kAmpere, "12.0 mA"},
                                                                     {0.35, Unit::kAmpere, "350 mA"},
                                                                     {12, Unit::kAmpere, "12.00 A"},
                                                                     {4e-5, Unit::kAmpere, "40.0 uA"},
                                                                     {3, Unit::kMinute, "3 min"},
                                                                     {3.46, Unit::kMinute, "3.5 min"},
                                                                     {1234, Unit::kMinute, "1234 min"},
                                                                     {2.1, Unit::kMetre, "2.10 m"},
                                                                     {0.35, Unit::kSquareMillimetre, "0.35 mm2"},
                                                                     {-20, Unit::kCelsius, "-20.0 degC"},
                                                                     {12.5, Unit::kPercent, "12.5 %"},
                                                                     {100, Unit::kPercent, "100 %"},
                                                                     {21, Unit::kWatt, "21.0 W"},
                                                                     {0.25, Unit::kSecond, "250 ms"},
                                                                     {90, Unit::kSecond, "90 s"},
                                                                     {0.25, Unit::kNone, "0.25"},
                                                                     {1e12, Unit::kNone, "1e12"}};
  for (const auto& [value, unit, text] : rows) EXPECT_EQ(format_quantity(value, unit), text) << value;
}

TEST(FormatQuantity, ReadsBackToTheSameUnitWithinTheDigitsShown) {
  Rng rng(kSeed);
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  for (const Unit unit : {Unit::kNone, Unit::kVolt, Unit::kAmpere, Unit::kOhm, Unit::kMinute, Unit::kMetre,
                          Unit::kSquareMillimetre, Unit::kCelsius, Unit::kPercent, Unit::kWatt, Unit::kSecond}) {
    for (int i = 0; i < 1000; ++i) {
      const double value = rng.log_uniform(1.0, 9000.0) * (rng.chance(0.5) ? 1 : -1);
      const std::string text = format_quantity(value, unit);
      const Result<Quantity> read = parse_quantity(text);
      ASSERT_TRUE(read.ok()) << text;
      ASSERT_EQ(read->unit, unit) << text;
      ASSERT_NEAR(read->value, value, 0.06 * std::fabs(value)) << text;  // one decimal of 1.0 is the coarsest
    }
  }
}

TEST(FormatQuantity, AtMostFourDigits) {
  Rng rng(kSeed);
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  for (int i = 0; i < 5000; ++i) {
    for (const Unit unit : {Unit::kVolt, Unit::kAmpere, Unit::kOhm, Unit::kMetre, Unit::kWatt}) {
      const std::string text = format_quantity(rng.log_uniform(1e-6, 1e4), unit);
      const std::string figures = text.substr(0, text.find(' '));
      const auto digits = std::count_if(figures.begin(), figures.end(), [](char c) { return c >= '0' && c <= '9'; });
      ASSERT_LE(digits, 4) << text;
    }
  }
}

TEST(UnitSymbol, ReadsBack) {
  for (const Unit unit : {Unit::kVolt, Unit::kAmpere, Unit::kOhm, Unit::kMinute, Unit::kMetre, Unit::kSquareMillimetre,
                          Unit::kCelsius, Unit::kPercent, Unit::kWatt, Unit::kSecond}) {
    EXPECT_EQ(parse_quantity("1" + std::string(unit_symbol(unit)))->unit, unit);
  }
}

}  // namespace
}  // namespace halfsplit::base
