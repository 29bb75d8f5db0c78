// SPDX-License-Identifier: Apache-2.0
#include "formats/dbc_cursor.h"

#include <algorithm>
#include <charconv>
#include <iterator>

#include "formats/description_file.h"

namespace halfsplit::formats {

namespace {

constexpr std::string_view kDbcBlanks = " \t\r\n\f\v";
constexpr std::string_view kDbcMarks = ":;,|@()[]\"";

constexpr std::string_view kKeywords[] = {"BA_",
                                          "BA_DEF_",
                                          "BA_DEF_DEF_",
                                          "BA_DEF_DEF_REL_",
                                          "BA_DEF_REL_",
                                          "BA_DEF_SGTYPE_",
                                          "BA_REL_",
                                          "BA_SGTYPE_",
                                          "BO_",
                                          "BO_TX_BU_",
                                          "BS_",
                                          "BU_",
                                          "BU_BO_REL_",
                                          "BU_EV_REL_",
                                          "BU_SG_REL_",
                                          "CAT_",
                                          "CAT_DEF_",
                                          "CM_",
                                          "ENVVAR_DATA_",
                                          "EV_",
                                          "EV_DATA_",
                                          "FILTER",
                                          "NS_",
                                          "NS_DESC_",
                                          "SGTYPE_",
                                          "SGTYPE_VAL_",
                                          "SG_",
                                          "SG_MUL_VAL_",
                                          "SIGTYPE_VALTYPE_",
                                          "SIG_GROUP_",
                                          "SIG_TYPE_REF_",
                                          "SIG_VALTYPE_",
                                          "VAL_",
                                          "VAL_TABLE_",
                                          "VERSION"};

template <class Number>
std::optional<Number> whole_number(std::string_view text) {
  Number value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() && end == text.data() + text.size() ? std::optional<Number>(value) : std::nullopt;
}

}  // namespace

bool DbcCursor::is_keyword(std::string_view word) {
  return std::find(std::begin(kKeywords), std::end(kKeywords), word) != std::end(kKeywords);
}

void DbcCursor::skip_blanks() {
  at_ = std::min(text_.find_first_not_of(kDbcBlanks, at_), text_.size());
  last_ = at_;
}

bool DbcCursor::at_end() {
  skip_blanks();
  return at_ == text_.size();
}

std::string_view DbcCursor::word() {
  const std::string_view found = peek();
  at_ += found.size();
  return found;
}

std::string_view DbcCursor::peek() {
  skip_blanks();
  std::size_t end = at_;
  while (end < text_.size() && kDbcBlanks.find(text_[end]) == std::string_view::npos &&
         kDbcMarks.find(text_[end]) == std::string_view::npos) {
    ++end;
  }
  return text_.substr(at_, end - at_);
}

bool DbcCursor::mark(char character) {
  skip_blanks();
  if (at_ == text_.size() || text_[at_] != character) return false;
  ++at_;
  return true;
}

std::optional<double> DbcCursor::number() { return description_number(word()); }
std::optional<std::uint64_t> DbcCursor::whole() { return whole_number<std::uint64_t>(word()); }
std::optional<std::int64_t> DbcCursor::whole_with_sign() {
  std::string_view text = word();
  if (text.starts_with('+')) text.remove_prefix(1);
  return whole_number<std::int64_t>(text);
}

std::optional<std::string> DbcCursor::string() {
  skip_blanks();
  if (at_ == text_.size() || text_[at_] != '"') return std::nullopt;
  std::string value;
  for (std::size_t k = at_ + 1; k < text_.size(); ++k) {
    if (text_[k] == '"') {
      at_ = k + 1;
      return value;
    }
    const bool escaped = text_[k] == '\\' && k + 1 < text_.size() && (text_[k + 1] == '"' || text_[k + 1] == '\\');
    if (escaped) ++k;
    if (text_[k] != '\r') value += text_[k];
  }
  return std::nullopt;  // no quote closes it
}

void DbcCursor::skip_statement() {
  while (!at_end()) {
    if (text_[at_] == '"') {
      if (!string()) ++at_;
      continue;
    }
    if (text_[at_] == ';') {
      ++at_;
      return;
    }
    if (line_begins_statement()) return;
    at_ += std::max<std::size_t>(1, peek().size());
  }
}

void DbcCursor::skip_to_statement() {
  while (at_ < text_.size()) {
    at_ = std::min(text_.find('\n', at_), text_.size());
    if (at_end() || line_begins_statement()) return;
  }
}

bool DbcCursor::line_begins_statement() const {
  const std::size_t before = text_.find_last_not_of(" \t", at_ == 0 ? 0 : at_ - 1);
  const bool first = at_ == 0 || before == std::string_view::npos || text_[before] == '\n';
  DbcCursor ahead = *this;
  return first && is_keyword(ahead.word());
}

}  // namespace halfsplit::formats
