// SPDX-License-Identifier: Apache-2.0
#include "formats/table_reader.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <system_error>
#include <utility>
#include <variant>

#include "base/check.h"
#include "base/nearest.h"
#include "formats/text_place.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

constexpr std::size_t kLongestText = 2000;  // characters of a note or caution

std::string tick(std::string_view key) { return "`" + std::string(key) + "`"; }

std::string limit_text(const LoomField& field) {
  const std::string unit(field.unit_word.empty() ? unit_name(field.unit) : field.unit_word);
  return "it lies between " + base::format_number(field.low) + " and " + base::format_number(field.high) +
         (unit.empty() || unit == "money" ? "" : " " + unit);
}

// "0x18FEF100"; infinite when it is longer than 64 bits, none when it is no such text.
std::optional<double> parse_hexadecimal(std::string_view text) {
  if (text.size() < 3 || text[0] != '0' || (text[1] != 'x' && text[1] != 'X')) return std::nullopt;
  std::uint64_t number = 0;
  const char* const end = text.data() + text.size();
  const auto parsed = std::from_chars(text.data() + 2, end, number, 16);
  if (parsed.ec == std::errc::result_out_of_range && parsed.ptr == end) return std::numeric_limits<double>::infinity();
  if (parsed.ec != std::errc() || parsed.ptr != end) return std::nullopt;
  return static_cast<double>(number);
}

std::string hexadecimal(double number) {
  char digits[17] = {};
  const auto written = std::to_chars(digits, digits + 16, static_cast<std::uint64_t>(number), 16);
  std::string text(digits, written.ptr);
  for (char& c : text)
    if (c >= 'a') c = static_cast<char>(c - 'a' + 'A');
  return "0x" + text;
}

}  // namespace

std::size_t caret_length(const TomlValue& value) {
  return value.kind == Kind::kText ? text::count_characters(value.text) + 2 : 1;
}

std::size_t caret_length(const PlacedText& placed) { return text::count_characters(placed.text) + 2; }

std::string list_words(const std::vector<std::string_view>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i)
    text += (i == 0 ? "" : (i + 1 == words.size() ? " or " : ", ")) + std::string(words[i]);
  return text;
}

std::string suggest(std::string_view wanted, const std::vector<std::string_view>& words) {
  const std::string near = base::did_you_mean(wanted, std::vector<std::string>(words.begin(), words.end()));
  return near.empty() ? "write " + list_words(words) : near;
}

void report_problem(LoomReport& report, const TomlValue& value, const TextProblem& problem) {
  if (report.full()) return report.error(problem.code, value.at, 1, "");  // only counted; the place need not be found
  TextPlace place(report.sources().at(value.at.file), value.at);
  const std::size_t begin = std::min(problem.offset, value.text.size());
  const std::string_view marked = std::string_view(value.text).substr(begin, problem.length);
  report.error(problem.code, place.at(begin), std::max<std::size_t>(1, text::count_characters(marked)), problem.message,
               problem.hint);
}

TableReader::TableReader(LoomReport& report, const LoomTable& table, std::string who, const TomlValue& value)
    : report_(report),
      table_(table),
      who_(std::move(who)),
      value_(value),
      trouble_before_(report.trouble_count()),
      usable_(value.kind == Kind::kTable) {
  if (usable_) {
    check_keys();
    return;
  }
  report_.error("bad-type", value.at, caret_length(value),
                who_ + " is a table, and here stands " + std::string(kind_name(value.kind)),
                "write its keys below a [header], or between { and }");
}

void TableReader::check_keys() {
  std::vector<std::string_view> known;
  for (const LoomField& field : table_.fields) known.push_back(field.key);
  for (const TomlEntry& entry : value_.entries) {
    if (table_.find(entry.key) != nullptr) continue;
    report_.error("unknown-key", entry.at, text::count_characters(entry.key),
                  tick(text::shorten(entry.key, 60)) + " is no key of " + who_,
                  report_.full() ? "" : suggest(entry.key, known));
  }
  for (const LoomField& field : table_.fields)
    if (field.required && value_.find(field.key) == nullptr)
      report_.error_unless_damaged("missing-key", value_.at, 1, who_ + " lacks " + tick(field.key),
                                   std::string(field.key) + ": " + std::string(field.help));
}

const LoomField& TableReader::field(std::string_view key) const {
  const LoomField* found = table_.find(key);
  HS_CHECK(found != nullptr, "the field table of " + std::string(table_.name) + " lacks " + std::string(key));
  return *found;
}

const TomlValue* TableReader::find(std::string_view key) const {
  const TomlEntry* entry = usable_ ? value_.find(key) : nullptr;
  return entry == nullptr ? nullptr : &entry->value;
}

text::Position TableReader::at(std::string_view key) const {
  const TomlValue* value = find(key);
  return value == nullptr ? value_.at : value->at;
}

void TableReader::error(std::string_view code, std::string_view key, std::string message, std::string hint) {
  const TomlValue* value = find(key);
  report_.error(code, at(key), value == nullptr ? 1 : caret_length(*value), std::move(message), std::move(hint));
}

void TableReader::problem(const TomlValue& value, const TextProblem& problem) {
  report_problem(report_, value, problem);
}

void TableReader::wrong_type(const TomlValue& value, const LoomField& field, std::string_view wanted) {
  report_.error("bad-type", value.at, caret_length(value),
                tick(field.key) + " of " + who_ + " is " + std::string(wanted) + ", and here stands " +
                    std::string(kind_name(value.kind)),
                std::string(field.key) + ": " + std::string(field.help));
}

std::optional<double> TableReader::read_number(const TomlValue& value, const LoomField& field) {
  double number = value.number;
  if (value.kind == Kind::kText) {
    const Parsed<double> parsed = parse_number(value.text, field.unit);
    if (const auto* bad = std::get_if<TextProblem>(&parsed)) return problem(value, *bad), std::nullopt;
    number = std::get<double>(parsed);
  } else if (value.kind != Kind::kWhole && value.kind != Kind::kNumber) {
    return wrong_type(value, field, "a number"), std::nullopt;
  }
  const std::string name = tick(field.key) + " of " + who_;
  if (!std::isfinite(number)) {
    report_.error("bad-number", value.at, 3, name + " is not a finite number", limit_text(field));
    return std::nullopt;
  }
  if (number >= field.low && number <= field.high) return number;
  report_.error("out-of-range", value.at, caret_length(value),
                name + " is " + base::format_number(number) + ", out of its range", limit_text(field));
  return std::nullopt;
}

std::optional<double> TableReader::maybe_number(std::string_view key) {
  const TomlValue* value = find(key);
  return value == nullptr ? std::nullopt : read_number(*value, field(key));
}

double TableReader::number(std::string_view key) {
  const double fallback = field(key).fallback;
  return maybe_number(key).value_or(std::isnan(fallback) ? 0.0 : fallback);
}

bool TableReader::flag(std::string_view key) {
  const LoomField& asked = field(key);
  const TomlValue* value = find(key);
  if (value != nullptr && value->kind == Kind::kFlag) return value->flag;
  if (value != nullptr) wrong_type(*value, asked, "true or false");
  return asked.fallback != 0.0;
}

std::optional<std::uint32_t> TableReader::identifier(std::string_view key) {
  const TomlValue* value = find(key);
  if (value == nullptr) return std::nullopt;
  const LoomField& asked = field(key);
  double number = value->number;
  if (value->kind == Kind::kText) {
    const std::optional<double> parsed = parse_hexadecimal(value->text);
    if (!parsed) {
      report_.error("bad-number", value->at, caret_length(*value),
                    "\"" + text::shorten(value->text, 60) + "\" is no number in hexadecimal",
                    "write it like \"0x18FEF100\", or as a whole number without quotes");
      return std::nullopt;
    }
    number = *parsed;
  } else if (value->kind != Kind::kWhole) {
    return wrong_type(*value, asked, "a whole number or text in hexadecimal"), std::nullopt;
  }
  if (number >= asked.low && number <= asked.high) return static_cast<std::uint32_t>(number);
  report_.error("out-of-range", value->at, caret_length(*value), tick(key) + " of " + who_ + " is out of its range",
                "it lies between 0 and " + hexadecimal(asked.high));
  return std::nullopt;
}

std::optional<std::string> TableReader::read_text(const TomlValue& value, const LoomField& field) {
  if (value.kind != Kind::kText) return wrong_type(value, field, "text"), std::nullopt;
  if (text::count_characters(value.text) <= kLongestText) return value.text;
  report_.error("out-of-range", value.at, 1, tick(field.key) + " of " + who_ + " is longer than 2,000 characters",
                "keep it to what is needed at the vehicle");
  return std::nullopt;
}

std::string TableReader::text(std::string_view key) {
  const TomlValue* value = find(key);
  return value == nullptr ? std::string() : read_text(*value, field(key)).value_or("");
}

std::optional<PlacedText> TableReader::placed_text(std::string_view key) {
  const TomlValue* value = find(key);
  if (value == nullptr) return std::nullopt;
  std::optional<std::string> text = read_text(*value, field(key));
  if (!text) return std::nullopt;
  return PlacedText{std::move(*text), value->at};
}

std::vector<PlacedText> TableReader::placed_texts(std::string_view key) {
  std::vector<PlacedText> texts;
  const TomlValue* value = find(key);
  if (value == nullptr) return texts;
  if (value->kind != Kind::kList) {
    wrong_type(*value, field(key), "a list of texts: [\"...\"]");
    return texts;
  }
  for (const TomlValue& item : value->items)
    if (std::optional<std::string> text = read_text(item, field(key))) texts.push_back({std::move(*text), item.at});
  return texts;
}

std::optional<std::size_t> TableReader::read_word(const TomlValue& value, const LoomField& field) {
  if (value.kind != Kind::kText) return wrong_type(value, field, "one of " + list_words(field.words)), std::nullopt;
  const auto found = std::find(field.words.begin(), field.words.end(), value.text);
  if (found != field.words.end()) return static_cast<std::size_t>(found - field.words.begin());
  report_.error("bad-word", value.at, caret_length(value),
                "\"" + text::shorten(value.text, 60) + "\" is no " + std::string(field.key) + " known here",
                report_.full() ? "" : suggest(value.text, field.words));
  return std::nullopt;
}

std::optional<std::size_t> TableReader::word(std::string_view key) {
  const TomlValue* value = find(key);
  return value == nullptr ? std::nullopt : read_word(*value, field(key));
}

std::vector<std::size_t> TableReader::words(std::string_view key) {
  std::vector<std::size_t> indices;
  const TomlValue* value = find(key);
  if (value == nullptr) return indices;
  if (value->kind != Kind::kList) {
    wrong_type(*value, field(key), "a list of words: [\"...\"]");
    return indices;
  }
  for (const TomlValue& item : value->items)
    if (const std::optional<std::size_t> index = read_word(item, field(key)))
      if (std::find(indices.begin(), indices.end(), *index) == indices.end()) indices.push_back(*index);
  return indices;
}

void TableReader::check_owner(std::string_view owner) {
  for (const LoomField& field : table_.fields) {
    const TomlValue* value = field.only_for.empty() ? nullptr : find(field.key);
    if (value == nullptr) continue;
    if (std::find(field.only_for.begin(), field.only_for.end(), owner) != field.only_for.end()) continue;
    report_.error("key-does-not-fit", value->at, caret_length(*value),
                  tick(field.key) + " does not go with " + std::string(owner) + " (" + who_ + ")",
                  "it belongs to " + list_words(field.only_for));
  }
}

}  // namespace halfsplit::formats
