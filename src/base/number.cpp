// SPDX-License-Identifier: Apache-2.0
// Reading numbers as they are typed at a vehicle. The text is brought to plain ASCII, then cut in order:
//
//   quantity := [sign] over-range [unit] | ">" number suffix | [sign] number suffix
//   number   := digits ["." digits] ["e" exponent]      a comma may stand for the point
//             | digits mark digits                      the mark stands for the point: 4k7, 0R3, 3V3 (IEC 60062)
//             | "R" digits                              R47 is 0.47 ohm
//   suffix   := [prefix] [unit]
//
// A prefix never multiplies: it moves the decimal exponent before the one conversion (from_chars), so 350mV is exactly
// the double nearest to 0.35. "m" alone is metres, "M" alone is mega; 'R' and the ohm sign are ohms.
// The marks are IEC 60062's; the rest is common practice at the meter.
#include "base/number.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "base/nearest.h"

namespace halfsplit::base {

namespace {

constexpr std::string_view kExamples = "write it like 23.8V, 4k7, 120 ohm, 12 mA or OL";

struct Replacement {
  std::string_view from, to;
};
constexpr std::array<Replacement, 14> kToAscii{{
    {"\u2212", "-"},     // minus sign
    {"\u2013", "-"},     // en dash, which some keyboards make of it
    {"\u00a0", " "},     // no-break space
    {"\u202f", " "},     // narrow no-break space
    {"\u2009", " "},     // thin space
    {"\u03a9", "ohm"},   // Greek capital omega
    {"\u2126", "ohm"},   // ohm sign
    {"\u00b5", "u"},     // micro sign
    {"\u03bc", "u"},     // Greek mu
    {"\u00b2", "2"},     // superscript two
    {"\u2103", "degC"},  // degree Celsius as one character
    {"\u00b0", "deg"},   // degree sign
    {"\u221e", "inf"},   // infinity, refused below by name
    {"\t", " "},
}};

// What may stand before a unit, as the power of ten.
struct Prefix {
  std::string_view spelling;
  char letter;
  int exponent;
};
constexpr std::array<Prefix, 14> kPrefixes{{
    {"milli", 'm', -3},
    {"micro", 'u', -6},
    {"kilo", 'k', 3},
    {"mega", 'M', 6},
    {"kil", 'k', 3},
    {"meg", 'M', 6},
    {"n", 'n', -9},
    {"u", 'u', -6},
    {"m", 'm', -3},
    {"c", 'c', -2},
    {"k", 'k', 3},
    {"K", 'k', 3},
    {"M", 'M', 6},
    {"G", 'G', 9},
}};

struct UnitWord {
  std::string_view spelling;  // compared without case, except "m": "M" is mega
  Unit unit;
  std::string_view prefixes;  // letters that make sense before it on a vehicle
  double times;               // to the base unit
};
constexpr std::array<UnitWord, 39> kUnitWords{{
    {"v", Unit::kVolt, "muk", 1},
    {"volt", Unit::kVolt, "muk", 1},
    {"volts", Unit::kVolt, "muk", 1},
    {"vdc", Unit::kVolt, "mu", 1},
    {"v dc", Unit::kVolt, "mu", 1},
    {"a", Unit::kAmpere, "munk", 1},
    {"amp", Unit::kAmpere, "munk", 1},
    {"amps", Unit::kAmpere, "munk", 1},
    {"ampere", Unit::kAmpere, "munk", 1},
    {"amperes", Unit::kAmpere, "munk", 1},
    {"r", Unit::kOhm, "mukMG", 1},
    {"ohm", Unit::kOhm, "mukMG", 1},
    {"ohms", Unit::kOhm, "mukMG", 1},
    {"w", Unit::kWatt, "mk", 1},
    {"watt", Unit::kWatt, "mk", 1},
    {"watts", Unit::kWatt, "mk", 1},
    {"s", Unit::kSecond, "mu", 1},
    {"sec", Unit::kSecond, "", 1},
    {"secs", Unit::kSecond, "", 1},
    {"second", Unit::kSecond, "mu", 1},
    {"seconds", Unit::kSecond, "mu", 1},
    {"min", Unit::kMinute, "", 1},
    {"mins", Unit::kMinute, "", 1},
    {"minute", Unit::kMinute, "", 1},
    {"minutes", Unit::kMinute, "", 1},
    {"h", Unit::kMinute, "", 60},
    {"hour", Unit::kMinute, "", 60},
    {"hours", Unit::kMinute, "", 60},
    {"m", Unit::kMetre, "mck", 1},
    {"metre", Unit::kMetre, "mck", 1},
    {"metres", Unit::kMetre, "mck", 1},
    {"mm2", Unit::kSquareMillimetre, "", 1},
    {"mm^2", Unit::kSquareMillimetre, "", 1},
    {"c", Unit::kCelsius, "", 1},
    {"degc", Unit::kCelsius, "", 1},
    {"deg c", Unit::kCelsius, "", 1},
    {"celsius", Unit::kCelsius, "", 1},
    {"%", Unit::kPercent, "", 1},
    {"percent", Unit::kPercent, "", 1},
}};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trim(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

std::string fold(std::string_view text) {
  std::string folded(text);
  for (char& c : folded) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return folded;
}

std::string to_ascii(std::string_view text) {
  std::string plain;
  while (!text.empty()) {
    const auto* found = std::find_if(kToAscii.begin(), kToAscii.end(),
                                     [&](const Replacement& r) { return text.substr(0, r.from.size()) == r.from; });
    plain += found != kToAscii.end() ? found->to : text.substr(0, 1);
    text.remove_prefix(found != kToAscii.end() ? found->from.size() : 1);
  }
  return plain;
}

// The text as a message may show it: short, on one line, no control characters, never half a character.
std::string quote(std::string_view text) {
  constexpr std::size_t kShown = 40;
  std::size_t end = std::min(text.size(), kShown);
  while (end > 0 && end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  std::string shown(text.substr(0, end));
  for (char& c : shown) {
    if (static_cast<unsigned char>(c) < 0x20U || c == 0x7F) c = '?';
  }
  return '"' + shown + (end < text.size() ? "...\"" : "\"");
}

// What has been understood so far; `rest` is what has not.
struct Draft {
  std::string_view rest;
  bool negative = false;
  std::string mantissa;
  int exponent = 0;
  Unit unit = Unit::kNone;
  double times = 1.0;
  bool marked = false;          // a letter stood for the point: no prefix may follow
  bool doubtful_comma = false;  // 1,234: the comma may have been meant for thousands
};

bool take(Draft& draft, char c) {
  if (draft.rest.empty() || draft.rest[0] != c) return false;
  draft.rest = trim(draft.rest.substr(1));
  return true;
}

std::string take_digits(Draft& draft) {
  const auto* end = std::find_if_not(draft.rest.begin(), draft.rest.end(), is_digit);
  std::string digits(draft.rest.begin(), end);
  draft.rest.remove_prefix(digits.size());
  return digits;
}

// --- the number ------------------------------------------------------------------------------------------------------

// A letter between digits, as in 4k7; false when there is none.
bool take_mark(Draft& draft) {
  struct Mark {
    char letter;
    int exponent;
    Unit unit;
  };
  static constexpr std::array<Mark, 11> kMarks{{{'R', 0, Unit::kOhm},
                                                {'r', 0, Unit::kOhm},
                                                {'k', 3, Unit::kNone},
                                                {'K', 3, Unit::kNone},
                                                {'M', 6, Unit::kNone},
                                                {'u', -6, Unit::kNone},
                                                {'n', -9, Unit::kNone},
                                                {'V', 0, Unit::kVolt},
                                                {'v', 0, Unit::kVolt},
                                                {'A', 0, Unit::kAmpere},
                                                {'a', 0, Unit::kAmpere}}};
  if (draft.rest.size() < 2 || !is_digit(draft.rest[1])) return false;
  const auto* mark =
      std::find_if(kMarks.begin(), kMarks.end(), [&](const Mark& m) { return m.letter == draft.rest[0]; });
  if (mark == kMarks.end() || (draft.mantissa.empty() && mark->unit != Unit::kOhm)) return false;
  draft.rest.remove_prefix(1);
  draft.exponent = mark->exponent;
  draft.unit = mark->unit;
  draft.marked = true;
  draft.mantissa += "." + take_digits(draft);
  return true;
}

void take_fraction(Draft& draft) {
  const bool comma = draft.rest.size() > 1 && draft.rest[0] == ',' && is_digit(draft.rest[1]);
  if (draft.rest.empty() || (draft.rest[0] != '.' && !comma)) return;
  draft.rest.remove_prefix(1);
  const std::string whole = draft.mantissa;
  const std::string fraction = take_digits(draft);
  if (whole.empty() && fraction.empty()) return;
  draft.mantissa += "." + fraction;
  draft.doubtful_comma = comma && fraction.size() == 3 && !whole.empty() && whole.size() <= 3 && whole[0] != '0';
}

void take_exponent(Draft& draft) {
  if (draft.mantissa.empty() || draft.rest.empty() || (draft.rest[0] != 'e' && draft.rest[0] != 'E')) return;
  const std::size_t sign = draft.rest.size() > 1 && (draft.rest[1] == '-' || draft.rest[1] == '+') ? 1 : 0;
  if (draft.rest.size() < sign + 2 || !is_digit(draft.rest[sign + 1])) return;
  const bool down = draft.rest[1] == '-';
  draft.rest.remove_prefix(sign + 1);
  const std::string digits = take_digits(draft);
  constexpr int kBeyondAny = 99999;  // an exponent of so many digits that it does not fit
  int power = 0;
  const bool fits = std::from_chars(digits.data(), digits.data() + digits.size(), power).ec == std::errc();
  power = fits ? std::min(power, kBeyondAny) : kBeyondAny;
  draft.exponent = down ? -power : power;
}

// --- the unit --------------------------------------------------------------------------------------------------------

const UnitWord* find_unit(std::string_view spelling) {
  const std::string folded = fold(spelling);
  const auto* found = std::find_if(kUnitWords.begin(), kUnitWords.end(), [&](const UnitWord& word) {
    return word.spelling == "m" ? spelling == "m" : word.spelling == folded;
  });
  return found == kUnitWords.end() ? nullptr : found;
}

// Takes a prefix and what is left after it as a unit; false, and nothing changed, when they do not go together.
bool take_prefixed_unit(Draft& draft, const Prefix& prefix) {
  const std::string head(draft.rest.substr(0, prefix.spelling.size()));
  if ((prefix.spelling.size() > 1 ? fold(head) : head) != prefix.spelling) return false;
  const std::string_view after = trim(draft.rest.substr(head.size()));
  const UnitWord* word = after.empty() ? nullptr : find_unit(after);
  const std::string_view allowed = word != nullptr ? word->prefixes : after.empty() ? "kMGun" : "";
  if (allowed.find(prefix.letter) == std::string_view::npos) return false;
  draft.exponent += prefix.exponent;
  if (word != nullptr) draft.unit = word->unit;
  draft.rest = {};
  return true;
}

bool take_unit(Draft& draft) {
  draft.rest = trim(draft.rest);
  if (draft.rest.empty()) return true;
  if (const UnitWord* word = find_unit(draft.rest)) {
    if (draft.marked && draft.unit != Unit::kNone && draft.unit != word->unit) return false;
    draft.unit = word->unit;
    draft.times = word->times;
    draft.rest = {};
    return true;
  }
  return !draft.marked && std::any_of(kPrefixes.begin(), kPrefixes.end(),
                                      [&](const Prefix& prefix) { return take_prefixed_unit(draft, prefix); });
}

// --- over range ------------------------------------------------------------------------------------------------------

// OL as meters show it: the range's decimal point stands anywhere in it, and the O is often typed as a zero.
constexpr std::array<std::string_view, 17> kOverRange{
    "over-range", "over range", "overrange", "overload", "over", ".ol.", ".0l.", ".ol", ".0l",
    "o.l.",       "0.l.",       "o.l",       "0.l",      "ol.",  "0l.",  "ol",   "0l"};

// True when the whole rest is an over-range sign with or without a unit.
bool take_over_range(Draft& draft) {
  const std::string folded = fold(draft.rest);
  for (const std::string_view word : kOverRange) {
    if (folded.substr(0, word.size()) != word) continue;
    Draft after = draft;
    after.rest.remove_prefix(word.size());
    if (!take_unit(after)) return false;
    draft = after;
    return true;
  }
  return false;
}

// --- what went wrong -------------------------------------------------------------------------------------------------

Diagnostic refuse_start(const std::string& shown, const Draft& draft) {
  const std::string folded = fold(draft.rest);
  for (const std::string_view word : {"nan", "inf", "open"}) {
    if (folded.substr(0, word.size()) != word) continue;
    return make_error("number.not-finite", shown + " is no number a meter can show",
                      "if the meter shows that it is over its range, write OL");
  }
  if (folded.substr(0, 1) == "<") {
    return make_error("number.malformed", shown + " is a limit, not a reading", "write the figure shown, like 0.1 ohm");
  }
  return make_error("number.malformed", shown + " does not begin with a number", std::string(kExamples));
}

std::string unit_hint(std::string_view spelling) {
  const std::string folded = fold(spelling);
  if (spelling[0] == 'M' && (folded == "mv" || folded == "ma" || folded == "ms" || folded == "mw" || folded == "mm")) {
    return "M is mega; write " + folded.substr(0, 1) + std::string(spelling.substr(1)) + " for thousandths";
  }
  if (folded == "f" || folded == "degf" || folded == "deg f") return "temperatures are in degrees Celsius: 80C";
  const std::string near = did_you_mean(spelling, {"mV", "mA", "kohm", "Mohm", "ohms", "volts", "amps", "watts",
                                                   "minutes", "seconds", "metres", "mm2", "degC", "percent", "hours"});
  return (near.empty() ? "" : near + " ") + "units are V, A, ohm, W, s, min, m, mm2, C and %";
}

Diagnostic refuse_rest(const std::string& shown, const Draft& draft) {
  const std::string_view rest = draft.rest;
  if (rest[0] == '.' || rest[0] == ',') {
    return make_error("number.malformed", shown + " has more than one decimal mark",
                      "one decimal mark and no thousands marks, like 1234.5");
  }
  if (draft.marked || std::any_of(rest.begin(), rest.end(), is_digit)) {
    return make_error("number.malformed", shown + " goes on after the number with " + quote(rest),
                      "one number with one unit; " + std::string(kExamples));
  }
  return make_error("number.unknown-unit", quote(rest) + " in " + shown + " is no unit known here", unit_hint(rest));
}

Result<Quantity> convert(const std::string& shown, const Draft& draft) {
  const std::string text = (draft.negative ? "-" : "") + draft.mantissa + "e" + std::to_string(draft.exponent);
  double value = 0.0;
  const auto parsed = std::from_chars(text.data(), text.data() + text.size(), value);
  value *= draft.times;
  if (parsed.ec != std::errc() || !std::isfinite(value)) {
    return make_error("number.not-finite", shown + " is larger or smaller than can be reckoned with",
                      std::string(kExamples));
  }
  const Quantity quantity{value, draft.unit, false};
  if (!draft.doubtful_comma) return quantity;
  return Result<Quantity>(quantity,
                          {make_warning("number.comma", "the comma of " + shown + " was read as a decimal point",
                                        "for thousands write the figure without marks")});
}

}  // namespace

Result<Quantity> parse_quantity(std::string_view text) {
  const std::string plain = to_ascii(text);
  const std::string shown = quote(text);
  Draft draft;
  draft.rest = trim(plain);
  if (draft.rest.empty()) return make_error("number.empty", "a number was expected", std::string(kExamples));
  const bool beyond = take(draft, '>');  // ">60M" is how some write over range
  draft.negative = !beyond && take(draft, '-');
  if (!beyond && !draft.negative) take(draft, '+');
  if (take_over_range(draft)) return Quantity{0.0, draft.unit, true};

  draft.mantissa = take_digits(draft);
  if (!take_mark(draft)) {
    take_fraction(draft);
    take_exponent(draft);
  }
  if (draft.mantissa.empty()) return refuse_start(shown, draft);
  if (!take_unit(draft)) return refuse_rest(shown, draft);
  Result<Quantity> quantity = convert(shown, draft);
  if (quantity.ok() && beyond) return Quantity{0.0, draft.unit, true};
  return quantity;
}

}  // namespace halfsplit::base
