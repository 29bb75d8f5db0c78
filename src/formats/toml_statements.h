// SPDX-License-Identifier: Apache-2.0
// Cuts a TOML text into its statements ([headers] and `key = value`s) without understanding them. Two uses: counts and
// depths are known before a parser is trusted with the text, and after a syntax error the other statements can still
// be read. Works on any bytes; time is linear.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

namespace halfsplit::formats {

struct TomlStatement {
  std::size_t first_line = 0, last_line = 0;  // from 1, both inside
  bool header = false;
  char open = '\0';             // '[', '{' or '"': begun here and never closed
  std::size_t open_offset = 0;  // byte offset of that character
};

struct TomlOutline {
  std::vector<TomlStatement> statements;
  std::size_t values = 0;   // about: statements and commas outside texts
  std::size_t deepest = 0;  // nesting of [ and {
  std::size_t deepest_line = 0;
  std::size_t longest_dotted = 0;  // most dots in one dotted key
  std::size_t longest_dotted_line = 0;
  std::size_t dotted_keys = 0;  // statements `a.b = ...`
};

// `tables`: the names that make a line inside an unclosed list count as the next [header].
[[nodiscard]] TomlOutline outline_toml(std::string_view text, const std::vector<std::string_view>& tables);

}  // namespace halfsplit::formats
