// SPDX-License-Identifier: Apache-2.0
#include "formats/text_place.h"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <string>
#include <string_view>

#include "text/utf8.h"

namespace halfsplit::formats {

TextPlace::TextPlace(const text::Source& source, text::Position value_at) : source_(source), begin_(value_at) {
  restart();
}

void TextPlace::restart() {
  place_ = begin_;
  raw_ = source_.offset(begin_.line, begin_.column);
  decoded_ = 0;
  open_quotes();
}

void TextPlace::open_quotes() {
  const std::string& text = source_.text();
  if (ends(0) || (text[raw_] != '"' && text[raw_] != '\'')) return;
  escapes_ = text[raw_] == '"';
  const bool long_text = text.compare(raw_, 3, std::string(3, text[raw_])) == 0;
  advance(long_text ? 3 : 1);
  if (long_text && at_break()) advance(1);  // a line break right behind the quotes is no part of the text
}

bool TextPlace::at_break() const {
  const std::string& text = source_.text();
  return text.compare(raw_, 1, "\n") == 0 || text.compare(raw_, 2, "\r\n") == 0;
}

// A backslash at the end of a line: the text goes on at the next character that is no blank.
bool TextPlace::at_line_join() const {
  return escapes_ && !ends(1) && source_.text()[raw_] == '\\' &&
         std::string_view(" \t\r\n").find(source_.text()[raw_ + 1]) != std::string_view::npos;
}

// Moves over whole characters in the file; CR LF counts as one.
void TextPlace::advance(std::size_t characters) {
  const std::string& text = source_.text();
  for (; characters > 0 && raw_ < text.size(); --characters) {
    if (at_break()) {
      raw_ += text[raw_] == '\r' ? 2 : 1;
      ++place_.line;
      place_.column = 1;
    } else {
      raw_ += text::character_bytes(text, raw_);
      ++place_.column;
    }
  }
}

void TextPlace::skip_line_join() {
  const std::string& text = source_.text();
  while (raw_ < text.size() && (text[raw_] == ' ' || text[raw_] == '\t' || at_break())) advance(1);
}

void TextPlace::step_escape() {
  const std::string& text = source_.text();
  const char kind = ends(1) ? '\0' : text[raw_ + 1];
  if (kind == 'u' || kind == 'U') {
    const std::size_t digits = kind == 'u' ? 4 : 8;
    std::uint32_t code_point = 0;
    const std::size_t end = std::min(raw_ + 2 + digits, text.size());
    std::from_chars(text.data() + raw_ + 2, text.data() + end, code_point, 16);
    decoded_ += text::utf8_length(code_point);
    advance(2 + digits);
  } else if (at_line_join()) {
    advance(1);
    skip_line_join();
  } else {
    ++decoded_;
    advance(2);
  }
}

void TextPlace::step() {
  const std::string& text = source_.text();
  if (escapes_ && text[raw_] == '\\') return step_escape();
  decoded_ += at_break() ? 1 : text::character_bytes(text, raw_);
  advance(1);
}

text::Position TextPlace::at(std::size_t offset) {
  if (offset < decoded_) restart();
  while (raw_ < source_.text().size() && (decoded_ < offset || at_line_join())) step();
  return place_;
}

}  // namespace halfsplit::formats
