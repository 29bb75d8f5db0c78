// SPDX-License-Identifier: Apache-2.0
#include "text/source.h"

#include <algorithm>
#include <compare>
#include <utility>

#include "text/utf8.h"

namespace halfsplit::text {

Source::Source(std::string name, std::string text) : name_(std::move(name)), text_(std::move(text)) {
  line_starts_.push_back(0);
  for (std::size_t i = 0; i < text_.size(); ++i)
    if (text_[i] == '\n') line_starts_.push_back(i + 1);
}

std::size_t Source::line_start(std::size_t number) const {
  if (number == 0) return 0;
  return number > line_starts_.size() ? text_.size() : line_starts_[number - 1];
}

std::string_view Source::line(std::size_t number) const {
  if (number == 0 || number > line_starts_.size()) return {};
  const std::size_t begin = line_start(number);
  std::string_view whole = std::string_view(text_).substr(begin, line_start(number + 1) - begin);
  while (!whole.empty() && (whole.back() == '\n' || whole.back() == '\r')) whole.remove_suffix(1);
  return whole;
}

std::size_t Source::offset(std::size_t line_number, std::size_t column) const {
  const std::string_view whole = line(line_number);
  std::size_t at = 0;
  for (std::size_t i = 1; i < column && at < whole.size(); ++i) at += character_bytes(whole, at);
  return line_start(line_number) + at;
}

Position Source::position(std::size_t offset) const {
  const std::size_t at = std::min(offset, text_.size());
  const auto next = std::upper_bound(line_starts_.begin(), line_starts_.end(), at);
  const auto number = static_cast<std::size_t>(next - line_starts_.begin());
  const std::size_t begin = line_start(number);
  const std::size_t column = 1 + count_characters(std::string_view(text_).substr(begin, at - begin));
  return {0, static_cast<std::uint32_t>(number), static_cast<std::uint32_t>(column)};
}

base::Span Source::span(std::size_t line_number, std::size_t column, std::size_t length,
                        std::size_t longest_line) const {
  base::Span span;
  span.file = name_;
  span.line = line_number;
  span.column = column;
  span.length = std::max<std::size_t>(1, length);
  const std::string_view whole = line(line_number);
  if (whole.size() <= longest_line) span.source_line = std::string(whole);
  return span;
}

std::uint32_t Sources::add(std::string name, std::string text) {
  sources_.emplace_back(std::move(name), std::move(text));
  return static_cast<std::uint32_t>(sources_.size() - 1);
}

base::Span Sources::span(Position at, std::size_t length, std::size_t longest_line) const {
  return sources_.at(at.file).span(at.line, at.column, length, longest_line);
}

}  // namespace halfsplit::text
