// SPDX-License-Identifier: Apache-2.0
// Numbers to text. Digits come from std::to_chars (shortest, or correctly rounded to a count); only where the point
// stands is decided here, so that neither locale nor library picks the layout. A meter's ranges are tables: scale,
// decimals and symbol for every size of value; our choice, after what hand-held meters of 6000 counts show.
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <span>
#include <string>

#include "base/check.h"
#include "base/number.h"

namespace halfsplit::base {

namespace {

// d.ddd x 10^exponent, without the point: {"2380", 1} is 23.80.
struct Digits {
  bool negative = false;
  std::string digits;
  int exponent = 0;
};

Digits read_scientific(std::string_view text) {
  Digits result;
  result.negative = text[0] == '-';
  if (result.negative) text.remove_prefix(1);
  const std::size_t e = text.find('e');
  result.digits = text.substr(0, e);
  result.digits.erase(std::remove(result.digits.begin(), result.digits.end(), '.'), result.digits.end());
  text.remove_prefix(e + (text[e + 1] == '+' ? 2 : 1));
  std::from_chars(text.data(), text.data() + text.size(), result.exponent);
  return result;
}

std::string lay_out_fixed(const Digits& number) {
  const int count = static_cast<int>(number.digits.size());
  std::string text = number.negative ? "-" : "";
  if (number.exponent < 0) {
    text += "0." + std::string(static_cast<std::size_t>(-number.exponent - 1), '0') + number.digits;
  } else if (number.exponent + 1 >= count) {
    text += number.digits + std::string(static_cast<std::size_t>(number.exponent + 1 - count), '0');
  } else {
    text += number.digits;
    text.insert(text.size() - static_cast<std::size_t>(count - number.exponent - 1), ".");
  }
  return text;
}

std::string lay_out_exponent(const Digits& number) {
  std::string text = (number.negative ? "-" : "") + number.digits.substr(0, 1);
  if (number.digits.size() > 1) text += "." + number.digits.substr(1);
  return text + "e" + std::to_string(number.exponent);
}

std::string trim_zeros(const std::string& text) {
  std::string figures = text.substr(0, text.find('e'));
  const std::string exponent = text.substr(figures.size());
  if (figures.find('.') != std::string::npos) {
    figures.erase(figures.find_last_not_of('0') + 1);
    if (figures.back() == '.') figures.pop_back();
  }
  return figures + exponent;
}

std::string fixed(double value, int decimals) {
  std::array<char, 400> buffer{};  // the largest double has 309 digits before the point
  const auto end =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
  HS_CHECK(end.ec == std::errc(), "the buffer holds every double");
  std::string text(buffer.data(), end.ptr);
  const bool zero = text.find_first_not_of("-0.") == std::string::npos;
  if (zero && text[0] == '-') text.erase(0, 1);
  return text;
}

// One range of a display: what is below `below` in the base unit is shown times `scale` with `decimals`.
struct Range {
  double below;
  double scale;
  int decimals;
  std::string_view symbol;
};

constexpr std::array<Range, 4> kVoltRanges{
    {{0.1, 1e3, 1, "mV"}, {100, 1, 2, "V"}, {1000, 1, 1, "V"}, {10000, 1, 0, "V"}}};
constexpr std::array<Range, 6> kAmpereRanges{{{1e-3, 1e6, 1, "uA"},
                                              {0.1, 1e3, 1, "mA"},
                                              {1, 1e3, 0, "mA"},
                                              {100, 1, 2, "A"},
                                              {1000, 1, 1, "A"},
                                              {10000, 1, 0, "A"}}};
constexpr std::array<Range, 9> kOhmRanges{{{0.1, 1e3, 1, "mohm"},
                                           {1000, 1, 1, "ohm"},
                                           {1e4, 1e-3, 2, "kohm"},
                                           {1e5, 1e-3, 1, "kohm"},
                                           {1e6, 1e-3, 0, "kohm"},
                                           {1e7, 1e-6, 2, "Mohm"},
                                           {1e8, 1e-6, 1, "Mohm"},
                                           {1e9, 1e-6, 0, "Mohm"},
                                           {1e12, 1e-9, 0, "Gohm"}}};
constexpr std::array<Range, 3> kMetreRanges{{{10, 1, 2, "m"}, {1000, 1, 1, "m"}, {10000, 1, 0, "m"}}};
constexpr std::array<Range, 2> kCelsiusRanges{{{1000, 1, 1, "degC"}, {10000, 1, 0, "degC"}}};
constexpr std::array<Range, 3> kWattRanges{{{10, 1, 2, "W"}, {100, 1, 1, "W"}, {10000, 1, 0, "W"}}};
constexpr std::array<Range, 2> kMinuteRanges{{{100, 1, 1, "min"}, {10000, 1, 0, "min"}}};
constexpr std::array<Range, 4> kSecondRanges{
    {{1, 1e3, 1, "ms"}, {10, 1, 2, "s"}, {100, 1, 1, "s"}, {10000, 1, 0, "s"}}};
constexpr std::array<Range, 3> kPercentRanges{{{10, 1, 2, "%"}, {1000, 1, 1, "%"}, {10000, 1, 0, "%"}}};
constexpr std::array<Range, 2> kSquareMillimetreRanges{{{10, 1, 2, "mm2"}, {1000, 1, 1, "mm2"}}};

struct Display {
  std::span<const Range> ranges;
  bool keeps_zeros;  // 23.80 V as on a meter; 3 min as in a sentence
};

Display display_of(Unit unit) {
  switch (unit) {
    case Unit::kVolt:
      return {kVoltRanges, true};
    case Unit::kAmpere:
      return {kAmpereRanges, true};
    case Unit::kOhm:
      return {kOhmRanges, true};
    case Unit::kMetre:
      return {kMetreRanges, true};
    case Unit::kCelsius:
      return {kCelsiusRanges, true};
    case Unit::kWatt:
      return {kWattRanges, true};
    case Unit::kMinute:
      return {kMinuteRanges, false};
    case Unit::kSecond:
      return {kSecondRanges, false};
    case Unit::kPercent:
      return {kPercentRanges, false};
    case Unit::kSquareMillimetre:
      return {kSquareMillimetreRanges, false};
    case Unit::kNone:
      break;
  }
  return {{}, false};
}

}  // namespace

std::string format_number(double value) {
  HS_CHECK(std::isfinite(value), "only finite numbers have a text");
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific);
  const Digits number = read_scientific({buffer.data(), static_cast<std::size_t>(end.ptr - buffer.data())});
  const bool plain = number.exponent >= -5 && number.exponent <= 15;
  return plain ? lay_out_fixed(number) : lay_out_exponent(number);
}

std::string format_significant(double value, int digits) {
  HS_CHECK(std::isfinite(value), "only finite numbers have a text");
  if (value == 0.0) return "0";
  std::array<char, 64> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific,
                                 std::clamp(digits, 1, 17) - 1);
  const Digits number = read_scientific({buffer.data(), static_cast<std::size_t>(end.ptr - buffer.data())});
  const bool plain = number.exponent >= -4 && number.exponent <= 9;
  return plain ? lay_out_fixed(number) : lay_out_exponent(number);
}

std::string format_quantity(double value, Unit unit) {
  HS_CHECK(!std::isnan(value), "a quantity is a number");
  if (std::isinf(value)) return "OL";
  const Display display = display_of(unit);
  for (const Range& range : display.ranges) {
    const std::string text = fixed(value * range.scale, range.decimals);
    // Judged as rounded, so that 999.97 ohm does not become 1000.0 ohm.
    double shown = 0.0;
    std::from_chars(text.data(), text.data() + text.size(), shown);
    if (std::fabs(shown) >= range.below * range.scale * (1 - 1e-12)) continue;
    if (shown == 0.0 && range.symbol != unit_symbol(unit)) continue;  // 0.00 V rather than 0.0 mV
    return (display.keeps_zeros ? text : trim_zeros(text)) + " " + std::string(range.symbol);
  }
  const std::string number = trim_zeros(format_significant(value, 4));
  return unit == Unit::kNone ? number : number + " " + std::string(unit_symbol(unit));
}

std::string_view unit_symbol(Unit unit) {
  switch (unit) {
    case Unit::kNone:
      return "";
    case Unit::kVolt:
      return "V";
    case Unit::kAmpere:
      return "A";
    case Unit::kOhm:
      return "ohm";
    case Unit::kMinute:
      return "min";
    case Unit::kMetre:
      return "m";
    case Unit::kSquareMillimetre:
      return "mm2";
    case Unit::kCelsius:
      return "degC";
    case Unit::kPercent:
      return "%";
    case Unit::kWatt:
      return "W";
    case Unit::kSecond:
      return "s";
  }
  return "";
}

}  // namespace halfsplit::base
