// SPDX-License-Identifier: Apache-2.0
// Text in columns of a terminal or a printed page of fixed pitch: how wide a text is, breaking it into lines, tables.
// Control characters never come through: a text from a file must not move a cursor.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::report {

// Columns: 2 for wide characters (East Asian, pictures), 0 for combining marks.
[[nodiscard]] std::size_t column_count(std::string_view text);

// One line without control characters: tabs and line breaks become blanks, others and bad bytes U+FFFD.
[[nodiscard]] std::string plain_line(std::string_view text);

// Lines of at most `width` columns, broken at blanks, a word that is too long within itself. A line break of the text
// stays one. Never empty: an empty text is one empty line.
[[nodiscard]] std::vector<std::string> break_lines(std::string_view text, std::size_t width);

// The same where a character (valid, never a control character) has another width than its columns.
using CharacterWidth = std::size_t (*)(std::string_view character);
[[nodiscard]] std::vector<std::string> break_lines(std::string_view text, std::size_t width, CharacterWidth measure);

// Filled with blanks to `width` columns, at the right or the left.
[[nodiscard]] std::string pad_right(std::string_view text, std::size_t width);
[[nodiscard]] std::string pad_left(std::string_view text, std::size_t width);

struct TextColumn {
  std::string head;
  std::size_t width = 10;
  bool right = false;  // numbers
};

// Cells are broken to their column; columns stand two blanks apart. Ends with a line break.
[[nodiscard]] std::string format_table(const std::vector<TextColumn>& columns,
                                       const std::vector<std::vector<std::string>>& rows);

}  // namespace halfsplit::report
