// SPDX-License-Identifier: Apache-2.0
// A text file held in memory so that diagnostics can show the line and put a caret under the place. Lines and columns
// count from 1, columns in characters. A Source owns its text and does not move.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "base/diagnostic.h"

namespace halfsplit::text {

// A place in one of several sources. line 0: no place.
struct Position {
  std::uint32_t file = 0;
  std::uint32_t line = 0;
  std::uint32_t column = 0;
  friend auto operator<=>(const Position&, const Position&) = default;
};

class Source {
 public:
  Source(std::string name, std::string text);
  Source(const Source&) = delete;
  Source& operator=(const Source&) = delete;

  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] std::size_t line_count() const { return line_starts_.size(); }
  // Without its line break; empty for a number that is not a line.
  [[nodiscard]] std::string_view line(std::size_t number) const;
  // Offset of the first byte of a line; the size of the text for a number past the last.
  [[nodiscard]] std::size_t line_start(std::size_t number) const;
  // Byte offset of a place; clamped to the end of its line.
  [[nodiscard]] std::size_t offset(std::size_t line, std::size_t column) const;
  // The place of a byte offset; `file` is left 0.
  [[nodiscard]] Position position(std::size_t offset) const;
  // A span for a diagnostic. The source line is left out when it is longer than `longest_line` bytes.
  [[nodiscard]] base::Span span(std::size_t line, std::size_t column, std::size_t length,
                                std::size_t longest_line) const;

 private:
  std::string name_;
  std::string text_;
  std::vector<std::size_t> line_starts_;
};

// The sources of one reading; Position::file is an index into it.
class Sources {
 public:
  std::uint32_t add(std::string name, std::string text);
  [[nodiscard]] const Source& at(std::uint32_t file) const { return sources_.at(file); }
  [[nodiscard]] std::size_t size() const { return sources_.size(); }
  [[nodiscard]] base::Span span(Position at, std::size_t length, std::size_t longest_line) const;

 private:
  std::deque<Source> sources_;
};

}  // namespace halfsplit::text
