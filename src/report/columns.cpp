// SPDX-License-Identifier: Apache-2.0
// Widths: Unicode Standard Annex 11 (East Asian Width, classes W and F) and general category Mn, by blocks and not by
// single characters (from memory): enough to keep columns straight in the scripts vehicles are repaired in.
#include "report/columns.h"

#include <algorithm>
#include <cstdint>

#include "text/utf8.h"

namespace halfsplit::report {

namespace {

constexpr const char* kReplacement = "\xEF\xBF\xBD";

struct Range {
  std::uint32_t first, last;
};
constexpr Range kWide[] = {{0x1100, 0x115F},   {0x2E80, 0x303E},  {0x3041, 0xA4CF}, {0xAC00, 0xD7A3},
                           {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},  {0xFF00, 0xFF60}, {0xFFE0, 0xFFE6},
                           {0x1F300, 0x1FAFF}, {0x20000, 0x3FFFD}};
constexpr Range kNone[] = {{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x064B, 0x065F}, {0x200B, 0x200F},
                           {0x202A, 0x202E}, {0x2060, 0x2064}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}};

template <std::size_t n>
bool within(const Range (&ranges)[n], std::uint32_t code) {
  return std::any_of(std::begin(ranges), std::end(ranges),
                     [&](const Range& range) { return code >= range.first && code <= range.last; });
}

// Of one valid character.
std::uint32_t code_point(std::string_view character) {
  const auto lead = static_cast<unsigned char>(character[0]);
  if (character.size() == 1) return lead;
  std::uint32_t code = lead & (0xFFU >> (character.size() + 1));
  for (const char c : character.substr(1)) code = code << 6U | (static_cast<unsigned char>(c) & 0x3FU);
  return code;
}

std::size_t width_of(std::string_view character) {
  const std::uint32_t code = code_point(character);
  return within(kNone, code) ? 0 : within(kWide, code) ? 2 : 1;
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

// As it may be shown: no control characters (C0, C1), none that turn the direction of writing, no stray bytes.
std::string_view shown(std::string_view character) {
  const auto lead = static_cast<unsigned char>(character[0]);
  if (character.size() == 1) return lead < 0x20U || lead >= 0x7FU ? kReplacement : character;
  const std::uint32_t code = code_point(character);
  const bool hidden =
      (code >= 0x80 && code < 0xA0) || (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
  return hidden ? kReplacement : character;
}

class Breaker {
 public:
  Breaker(std::size_t width, CharacterWidth measure)
      : width_(std::max<std::size_t>(width, 2)), measure_(measure), blank_(measure(" ")) {}

  std::vector<std::string> run(std::string_view text) {
    for (std::size_t at = 0; at < text.size();) {
      const std::string_view character = text.substr(at, text::character_bytes(text, at));
      at += character.size();
      if (character == "\n") {
        end_word();
        end_line();
      } else if (is_blank(character[0]) && (word_.empty() || text.substr(at, 1) != "%")) {
        end_word();
      } else if (is_blank(character[0])) {
        add(" ");  // a number and its per cent stay together
      } else {
        add(shown(character));
      }
    }
    end_word();
    if (!line_.empty() || lines_.empty()) end_line();
    return std::move(lines_);
  }

 private:
  void add(std::string_view character) {
    const std::size_t width = measure_(character);
    if (word_width_ + width > width_) end_word();
    word_ += character;
    word_width_ += width;
  }

  void end_word() {
    if (word_.empty()) return;
    const std::size_t blank = line_.empty() ? 0 : blank_;
    if (line_width_ + blank + word_width_ > width_) end_line();
    if (!line_.empty()) {
      line_ += ' ';
      line_width_ += blank_;
    }
    line_ += word_;
    line_width_ += word_width_;
    word_.clear();
    word_width_ = 0;
  }

  void end_line() {
    lines_.push_back(line_);
    line_.clear();
    line_width_ = 0;
  }

  std::size_t width_;
  CharacterWidth measure_;
  std::size_t blank_;
  std::vector<std::string> lines_;
  std::string line_, word_;
  std::size_t line_width_ = 0, word_width_ = 0;
};

std::string format_row(const std::vector<TextColumn>& columns, const std::vector<std::string>& cells) {
  std::vector<std::vector<std::string>> broken;
  std::size_t height = 1;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    broken.push_back(break_lines(i < cells.size() ? cells[i] : "", columns[i].width));
    height = std::max(height, broken.back().size());
  }
  std::string out;
  for (std::size_t line = 0; line < height; ++line) {
    std::string row;
    for (std::size_t i = 0; i < columns.size(); ++i) {
      const std::string cell = line < broken[i].size() ? broken[i][line] : "";
      row += (i > 0 ? "  " : "") +
             (columns[i].right ? pad_left(cell, columns[i].width) : pad_right(cell, columns[i].width));
    }
    row.erase(row.find_last_not_of(' ') + 1);
    out += row + "\n";
  }
  return out;
}

}  // namespace

std::size_t column_count(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view character = text.substr(at, text::character_bytes(text, at));
    count += character.size() == 1 ? 1 : width_of(character);
    at += character.size();
  }
  return count;
}

std::string plain_line(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view character = text.substr(at, text::character_bytes(text, at));
    at += character.size();
    out += character == "\n" || is_blank(character[0]) ? std::string_view(" ") : shown(character);
  }
  return out;
}

std::vector<std::string> break_lines(std::string_view text, std::size_t width) {
  return break_lines(text, width, width_of);
}

std::vector<std::string> break_lines(std::string_view text, std::size_t width, CharacterWidth measure) {
  return Breaker(width, measure).run(text);
}

std::string pad_right(std::string_view text, std::size_t width) {
  const std::size_t columns = column_count(text);
  return std::string(text) + std::string(width - std::min(width, columns), ' ');
}

std::string pad_left(std::string_view text, std::size_t width) {
  const std::size_t columns = column_count(text);
  return std::string(width - std::min(width, columns), ' ') + std::string(text);
}

std::string format_table(const std::vector<TextColumn>& columns, const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::string> heads, rules;
  for (const TextColumn& column : columns) {
    heads.push_back(column.head);
    rules.emplace_back(column.width, '-');
  }
  std::string out = format_row(columns, heads) + format_row(columns, rules);
  for (const std::vector<std::string>& row : rows) out += format_row(columns, row);
  return out;
}

}  // namespace halfsplit::report
