// SPDX-License-Identifier: Apache-2.0
#include "formats/sketch_answers.h"

#include <algorithm>

#include "text/blanks.h"

namespace halfsplit::formats {

std::string trim(std::string_view text) { return std::string(text::without_blanks(text)); }

std::vector<std::string> AnswerReader::list(std::string_view question) const {
  std::vector<std::string> found;
  const auto at = answers_.find(question);
  if (at == answers_.end()) return found;
  for (const std::string& text : at->second)
    for (std::size_t from = 0; from <= text.size();) {
      const std::size_t comma = std::min(text.find(',', from), text.size());
      if (std::string item = trim(std::string_view(text).substr(from, comma - from)); !item.empty())
        found.push_back(std::move(item));
      from = comma + 1;
    }
  return found;
}

std::string AnswerReader::one(std::string_view question, std::string_view fallback) const {
  const auto at = answers_.find(question);
  const std::string text = at == answers_.end() || at->second.empty() ? "" : trim(at->second.back());
  return text.empty() ? std::string(fallback) : text;
}

double AnswerReader::number(std::string_view question, double fallback, base::Unit unit, double low, double high) {
  const std::string text = one(question);
  return text.empty() ? fallback : number_of(question, text, fallback, unit, low, high);
}

double AnswerReader::number_of(std::string_view question, const std::string& text, double fallback, base::Unit unit,
                               double low, double high) {
  const std::string limits = "a number from " + base::format_number(low) + " to " + base::format_number(high);
  const base::Result<base::Quantity> read = base::parse_quantity(text);
  const bool fits = read && !read->over_range && (read->unit == base::Unit::kNone || read->unit == unit) &&
                    read->value >= low && read->value <= high;
  if (fits) return read->value;
  error("sketch.bad-answer", std::string(question) + ": \"" + text + "\" is not " + limits,
        read || read.diagnostics().front().hint.empty() ? "give " + limits : read.diagnostics().front().hint);
  return fallback;
}

bool AnswerReader::take_name(std::string_view question, const std::string& name) {
  constexpr std::string_view kNever = "@[]></\\\"':";
  const bool control = std::any_of(name.begin(), name.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20U || byte == 0x7FU;
  });
  const auto characters = static_cast<std::size_t>(
      std::count_if(name.begin(), name.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
  if (name.empty() || characters > 60 || control || name.find_first_of(kNever) != std::string::npos ||
      name.find('.') != std::string::npos) {
    error("sketch.bad-name", std::string(question) + ": \"" + name + "\" cannot be a name on the drawing",
          "up to 60 characters, and none of . : @ [ ] > < / \\ \" '");
    return false;
  }
  if (std::find(names_.begin(), names_.end(), name) != names_.end()) {
    error("sketch.same-name", std::string(question) + ": there are two things named \"" + name + "\"",
          "one name, one thing: name one of them otherwise");
    return false;
  }
  names_.push_back(name);
  return true;
}

std::string AnswerReader::fresh_name(const std::string& wanted) {
  std::string name = wanted;
  for (int number = 2; std::find(names_.begin(), names_.end(), name) != names_.end(); ++number)
    name = wanted + "-" + std::to_string(number);
  names_.push_back(name);
  return name;
}

void AnswerReader::error(std::string code, std::string message, std::string hint) {
  errors_.push_back(base::make_error(std::move(code), std::move(message), std::move(hint)));
}

}  // namespace halfsplit::formats
