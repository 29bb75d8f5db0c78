// SPDX-License-Identifier: Apache-2.0
// A TOML document as plain values that know where they stand. The library that parses it (toml++) stays inside
// toml_tree.cpp: no other file of the project includes it, and none of its exceptions leave.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "text/source.h"

namespace halfsplit::formats {

struct TomlEntry;

struct TomlValue {
  enum class Kind : std::uint8_t { kText, kWhole, kNumber, kFlag, kDate, kList, kTable };
  Kind kind = Kind::kTable;
  text::Position at;               // first character of the value; of a [table]: its header
  std::string text;                // kText
  double number = 0.0;             // kWhole, kNumber
  bool flag = false;               // kFlag
  std::vector<TomlValue> items;    // kList
  std::vector<TomlEntry> entries;  // kTable, in the order of the file

  [[nodiscard]] const TomlEntry* find(std::string_view key) const;
};

struct TomlEntry {
  std::string key;
  text::Position at;  // of the key
  TomlValue value;
};

// "text", "a number", "a list" ...: what a diagnostic calls it.
[[nodiscard]] std::string_view kind_name(TomlValue::Kind kind);

struct TomlError {
  std::string message;
  text::Position at;
};

struct TomlParse {
  bool ok = false;
  TomlValue root;   // when ok
  TomlError error;  // when not: the first one only, the library stops there
};

// Parses valid UTF-8. `first_line` is the line number of the first line of `text` in file number `file`.
// The caller has checked size and depth (toml_statements.h).
[[nodiscard]] TomlParse parse_toml(std::string_view text, std::uint32_t file, std::uint32_t first_line = 1);

}  // namespace halfsplit::formats
