// SPDX-License-Identifier: Apache-2.0
// Colours: IEC 60757 letter codes (shared table, from memory). American wire gauge: diameter 0.127 mm x 92^((36-n)/39),
// ASTM B258 (from memory), n = 0 for 1/0, -1 for 2/0 and so on.
#include "formats/value_text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <unordered_set>

#include "base/nearest.h"
#include "text/blanks.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using base::Unit;

constexpr std::size_t kLongestNumber = 80;
constexpr std::size_t kLongestName = 80;

std::string quoted(std::string_view text) { return "\"" + text::shorten(text, 60) + "\""; }

TextProblem problem(std::string code, std::string message, std::string hint, std::size_t offset, std::size_t length) {
  return {std::move(code), std::move(message), std::move(hint), offset, std::max<std::size_t>(1, length)};
}

TextProblem whole_problem(std::string_view text, std::string code, std::string message, std::string hint) {
  return problem(std::move(code), std::move(message), std::move(hint), 0, text.size());
}

std::string example_for(Unit unit) {
  switch (unit) {
    case Unit::kOhm:
      return "4700, \"4k7\" or \"0R3\"";
    case Unit::kAmpere:
      return "0.35 or \"350mA\"";
    case Unit::kVolt:
      return "5 or \"5V\"";
    case Unit::kMinute:
      return "10 or \"10 min\"";
    case Unit::kMetre:
      return "2.1 or \"2.1m\"";
    case Unit::kSquareMillimetre:
      return "0.5, \"0.5mm2\" or \"AWG18\"";
    case Unit::kCelsius:
      return "20 or \"20 degC\"";
    case Unit::kWatt:
      return "21 or \"21W\"";
    case Unit::kPercent:
      return "5 or \"5%\"";
    default:
      return "a plain number, like 3";
  }
}

// Factor from the unit written to the unit wanted; none when they do not go together.
std::optional<double> factor(Unit written, Unit wanted) {
  if (written == Unit::kNone || written == wanted) return 1.0;
  if (written == Unit::kSecond && wanted == Unit::kMinute) return 1.0 / 60.0;
  if (written == Unit::kCelsius && wanted == Unit::kNone) return 1.0;
  return std::nullopt;
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::optional<int> parse_whole(std::string_view digits) {
  int value = 0;
  const char* end = digits.data() + digits.size();
  const auto parsed = std::from_chars(digits.data(), end, value);
  if (digits.empty() || parsed.ec != std::errc() || parsed.ptr != end || !is_digit(digits[0])) return std::nullopt;
  return value;
}

// Codes and words that other drawings use, for hints only. The two-letter ones: common practice on
// German drawings, from memory.
struct OtherColour {
  std::string_view written, code;
};
constexpr std::array<OtherColour, 26> kOtherColours{
    {{"sw", "BK"},     {"br", "BN"},     {"rt", "RD"},     {"or", "OG"},     {"ge", "YE"},    {"gn", "GN"},
     {"bl", "BU"},     {"vi", "VT"},     {"gr", "GY"},     {"ws", "WH"},     {"rs", "PK"},    {"black", "BK"},
     {"brown", "BN"},  {"red", "RD"},    {"orange", "OG"}, {"yellow", "YE"}, {"green", "GN"}, {"blue", "BU"},
     {"violet", "VT"}, {"purple", "VT"}, {"grey", "GY"},   {"gray", "GY"},   {"white", "WH"}, {"pink", "PK"},
     {"blu", "BU"},    {"blk", "BK"}}};

std::string fold(std::string_view text) {
  std::string folded(text);
  for (char& c : folded)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return folded;
}

std::string colour_hint(std::string_view part) {
  const std::string folded = fold(part);
  for (const OtherColour& other : kOtherColours)
    if (folded == other.written) return "IEC 60757 writes it " + std::string(other.code);
  for (const std::string_view code : colour_codes())
    if (folded == fold(code)) return "in capitals: " + std::string(code);
  return "IEC 60757: BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE, two or three joined by / as in RD/WH";
}

// Where the digits at the end of a name begin.
std::size_t digits_begin(std::string_view name) {
  std::size_t at = name.size();
  while (at > 0 && is_digit(name[at - 1])) --at;
  return at;
}

struct CavityRange {
  std::string prefix;
  int from = 0, to = 0;
};

// "5-8", "A1-A8"; none when the text is a plain name. `crossed`: numbers at both ends, letters before them that differ.
std::optional<CavityRange> find_range(std::string_view text, bool& crossed) {
  crossed = false;
  const std::size_t dash = text.find('-', 1);
  if (dash == std::string_view::npos) return std::nullopt;
  const std::string_view first = text::without_blanks(text.substr(0, dash)),
                         last = text::without_blanks(text.substr(dash + 1));
  const std::size_t first_digits = digits_begin(first), last_digits = digits_begin(last);
  const std::string_view prefix = first.substr(0, first_digits);
  const std::optional<int> from = parse_whole(first.substr(first_digits));
  const std::optional<int> to = parse_whole(last.substr(last_digits));
  if (!from || !to) return std::nullopt;
  crossed = last.substr(0, last_digits) != prefix;
  if (crossed) return std::nullopt;
  return CavityRange{std::string(prefix), *from, *to};
}

// Adds what one item between commas stands for.
std::optional<TextProblem> add_cavities(std::string_view item, std::size_t offset, std::vector<std::string>& names) {
  if (item.empty())
    return problem("bad-pins", "a cavity name is missing here", "write pins as \"1-24\" or \"1,2,5-8\"", offset, 1);
  bool crossed = false;
  const std::optional<CavityRange> range = find_range(item, crossed);
  if (crossed)
    return problem("bad-pins", quoted(item) + " is no range: its ends have not the same letters",
                   "write a range as \"1-24\" or \"A1-A9\"; a cavity of that name stands in a list: [\"" +
                       text::shorten(item, 40) + "\"]",
                   offset, item.size());
  if (!range) {
    if (std::optional<TextProblem> bad = check_name(item, true))
      return problem("bad-pins", bad->message, bad->hint, offset, item.size());
    names.emplace_back(item);
    return std::nullopt;
  }
  if (range->to < range->from)
    return problem("bad-pins", quoted(item) + " counts backwards", "write the smaller number first", offset,
                   item.size());
  if (static_cast<std::size_t>(range->to) - static_cast<std::size_t>(range->from) >= kMostCavities)
    return problem("bad-pins", quoted(item) + " is more than " + std::to_string(kMostCavities) + " cavities",
                   "a connector has fewer; look for a slip in the numbers", offset, item.size());
  for (int number = range->from; number <= range->to; ++number) names.push_back(range->prefix + std::to_string(number));
  return std::nullopt;
}

}  // namespace

std::string_view unit_name(Unit unit) {
  switch (unit) {
    case Unit::kVolt:
      return "V";
    case Unit::kAmpere:
      return "A";
    case Unit::kOhm:
      return "ohm";
    case Unit::kMinute:
      return "minutes";
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
    case Unit::kNone:
      break;
  }
  return "";
}

Parsed<double> parse_number(std::string_view text, Unit wanted) {
  if (text.size() > kLongestNumber)
    return whole_problem(text, "bad-number", "a number cannot be that long", "write " + example_for(wanted));
  if (wanted == Unit::kSquareMillimetre)
    if (const std::optional<double> area = parse_awg(text)) return *area;
  const base::Result<base::Quantity> read = base::parse_quantity(text);
  if (!read.ok()) {
    const base::Diagnostic& said = read.diagnostics().front();
    const bool unit = said.code == "number.unknown-unit";
    return whole_problem(text, unit ? "bad-unit" : "bad-number", said.message, "write " + example_for(wanted));
  }
  if (read->over_range)
    return whole_problem(text, "bad-number", "OL is a reading, not a value", "write " + example_for(wanted));
  if (const std::optional<double> times = factor(read->unit, wanted)) return read->value * *times;
  const std::string unit(unit_name(read->unit));
  const std::string message =
      wanted == Unit::kNone ? quoted(text) + " is in " + unit + ", and this key has no unit"
                            : quoted(text) + " is in " + unit + "; this key is in " + std::string(unit_name(wanted));
  return whole_problem(text, "bad-unit", message, "write " + example_for(wanted));
}

std::optional<double> parse_awg(std::string_view text) {
  std::string_view rest = text::without_blanks(text);
  const auto is_awg = [](std::string_view word) { return fold(word) == "awg"; };
  bool said = true;
  if (rest.size() > 3 && is_awg(rest.substr(0, 3)))
    rest.remove_prefix(3);
  else if (rest.size() > 3 && is_awg(rest.substr(rest.size() - 3)))
    rest.remove_suffix(3);
  else
    said = false;
  rest = text::without_blanks(rest);
  const std::size_t slash = rest.find('/');
  const bool zeros = slash != std::string_view::npos && rest.substr(slash) == "/0";
  if (!said && !zeros) return std::nullopt;
  const std::optional<int> number = parse_whole(zeros ? rest.substr(0, slash) : rest);
  if (!number || *number > 40 || (zeros && (*number < 1 || *number > 4))) return std::nullopt;
  const int gauge = zeros ? 1 - *number : *number;
  const double diameter_mm = 0.127 * std::pow(92.0, (36.0 - gauge) / 39.0);
  return 3.14159265358979323846 / 4.0 * diameter_mm * diameter_mm;
}

const std::vector<std::string_view>& colour_codes() {
  static const std::vector<std::string_view> codes{"BK", "BN", "RD", "OG", "YE", "GN", "BU",  "VT",
                                                   "GY", "WH", "PK", "GD", "TQ", "SR", "GNYE"};
  return codes;
}

Parsed<std::string> parse_colour(std::string_view text) {
  const std::vector<std::string_view>& codes = colour_codes();
  std::string colour;
  int count = 0;
  for (std::size_t begin = 0; begin <= text.size(); ++count) {
    const std::size_t end = std::min(text.find_first_of("/-", begin), text.size());
    const std::string_view part = text.substr(begin, end - begin);
    if (std::find(codes.begin(), codes.end(), part) == codes.end())
      return problem("unknown-colour", quoted(part) + " is no colour code", colour_hint(part), begin, part.size());
    colour += (colour.empty() ? "" : "/") + std::string(part);
    begin = end + 1;
  }
  if (count > 3)
    return whole_problem(text, "unknown-colour", "a wire has at most three colours", "base colour first, as in RD/WH");
  return colour;
}

Parsed<std::vector<std::string>> parse_cavities(std::string_view text) {
  std::vector<std::string> names;
  std::unordered_set<std::string> known;
  for (std::size_t begin = 0; begin <= text.size();) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    const std::size_t before = names.size();
    if (std::optional<TextProblem> bad =
            add_cavities(text::without_blanks(text.substr(begin, end - begin)), begin, names))
      return *bad;
    if (names.size() > kMostCavities)
      return whole_problem(text, "bad-pins", "more than " + std::to_string(kMostCavities) + " cavities",
                           "a connector has fewer; look for a slip in the numbers");
    for (std::size_t i = before; i < names.size(); ++i)
      if (!known.insert(names[i]).second)
        return problem("duplicate-cavity", "cavity " + names[i] + " is listed twice", "each cavity once", begin,
                       end - begin);
    begin = end + 1;
  }
  return names;
}

std::optional<TextProblem> check_name(std::string_view name, bool dots) {
  const auto bad = [&](std::string message, std::string hint, std::size_t offset = 0) {
    return problem("bad-name", std::move(message), std::move(hint), offset, 1);
  };
  if (name.empty()) return bad("a name is empty", "give it the name on the drawing");
  if (text::count_characters(name) > kLongestName)
    return bad(quoted(name) + " is longer than 80 characters", "use the short name on the drawing");
  if (name.front() == ' ' || name.back() == ' ')
    return bad(quoted(name) + " begins or ends with a space", "take the space away");
  for (std::size_t i = 0; i < name.size(); ++i) {
    const char c = name[i];
    if (static_cast<unsigned char>(c) < 0x20U || c == 0x7F)
      return bad("a name holds a control character", "take it away", i);
    if (std::string_view("@[]></\\\"':").find(c) != std::string_view::npos || (c == '.' && !dots))
      return bad(quoted(name) + " holds '" + std::string(1, c) + "', which points and runs use for themselves",
                 "write it with - or _ instead", i);
  }
  return std::nullopt;
}

}  // namespace halfsplit::formats
