// SPDX-License-Identifier: Apache-2.0
// The one translation unit that knows toml++ (TOML 1.0.0, libtomlplusplus-dev). It keeps tables sorted by key; we sort
// them back into the order of the file, because that is the order people read and count in.
#include "formats/toml_tree.h"

#include <toml++/toml.h>

#include <algorithm>
#include <exception>
#include <utility>

namespace halfsplit::formats {

namespace {

struct Origin {
  std::uint32_t file;
  std::uint32_t first_line;
};

text::Position to_position(const toml::source_position& at, const Origin& origin) {
  const std::uint32_t line = at.line == 0 ? 1 : static_cast<std::uint32_t>(at.line);
  return {origin.file, line + origin.first_line - 1, at.column == 0 ? 1 : static_cast<std::uint32_t>(at.column)};
}

TomlValue convert(const toml::node& node, const Origin& origin);

void convert_table(const toml::table& table, const Origin& origin, TomlValue& value) {
  value.kind = TomlValue::Kind::kTable;
  value.entries.reserve(table.size());
  for (auto&& [key, node] : table)
    value.entries.push_back({std::string(key.str()), to_position(key.source().begin, origin), convert(node, origin)});
  std::stable_sort(value.entries.begin(), value.entries.end(),
                   [](const TomlEntry& a, const TomlEntry& b) { return a.at < b.at; });
}

void convert_list(const toml::array& array, const Origin& origin, TomlValue& value) {
  value.kind = TomlValue::Kind::kList;
  value.items.reserve(array.size());
  for (const toml::node& node : array) value.items.push_back(convert(node, origin));
}

TomlValue convert(const toml::node& node, const Origin& origin) {
  TomlValue value;
  value.at = to_position(node.source().begin, origin);
  if (const auto* table = node.as_table()) {
    convert_table(*table, origin, value);
  } else if (const auto* array = node.as_array()) {
    convert_list(*array, origin, value);
  } else if (const auto* text = node.as_string()) {
    value.kind = TomlValue::Kind::kText;
    value.text = text->get();
  } else if (const auto* whole = node.as_integer()) {
    value.kind = TomlValue::Kind::kWhole;
    value.number = static_cast<double>(whole->get());
  } else if (const auto* number = node.as_floating_point()) {
    value.kind = TomlValue::Kind::kNumber;
    value.number = number->get();
  } else if (const auto* flag = node.as_boolean()) {
    value.kind = TomlValue::Kind::kFlag;
    value.flag = flag->get();
  } else {
    value.kind = TomlValue::Kind::kDate;
  }
  return value;
}

}  // namespace

const TomlEntry* TomlValue::find(std::string_view key) const {
  for (const TomlEntry& entry : entries)
    if (entry.key == key) return &entry;
  return nullptr;
}

std::string_view kind_name(TomlValue::Kind kind) {
  switch (kind) {
    case TomlValue::Kind::kText:
      return "text";
    case TomlValue::Kind::kWhole:
    case TomlValue::Kind::kNumber:
      return "a number";
    case TomlValue::Kind::kFlag:
      return "true or false";
    case TomlValue::Kind::kDate:
      return "a date or time";
    case TomlValue::Kind::kList:
      return "a list";
    case TomlValue::Kind::kTable:
      return "a table";
  }
  return "a value";
}

TomlParse parse_toml(std::string_view text, std::uint32_t file, std::uint32_t first_line) {
  const Origin origin{file, first_line};
  TomlParse parse;
  try {
    const toml::table table = toml::parse(text);
    parse.root = convert(table, origin);
    parse.ok = true;
  } catch (const toml::parse_error& error) {
    parse.error = {std::string(error.description()), to_position(error.source().begin, origin)};
  } catch (const std::exception& error) {  // out of memory, a defect of the library
    parse.error = {error.what(), {file, first_line, 1}};
  }
  return parse;
}

}  // namespace halfsplit::formats
