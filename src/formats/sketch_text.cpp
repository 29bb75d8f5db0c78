// SPDX-License-Identifier: Apache-2.0
#include "formats/sketch_text.h"

#include <algorithm>

#include "base/number.h"
#include "formats/toml_quote.h"

namespace halfsplit::formats {

std::string toml_key(std::string_view name) {
  const bool bare = !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
  return bare ? std::string(name) : toml_quoted(name, false);
}

std::string toml_list(const std::vector<std::string>& texts) {
  std::string out;
  for (const std::string& text : texts) out += (out.empty() ? "" : ", ") + toml_quoted(text, false);
  return "[" + out + "]";
}

void SketchText::remark(std::string_view words) { text_ += "# " + std::string(words) + "\n"; }

void SketchText::table(std::string_view group, std::string_view name, std::string_view comment) {
  text_ += "\n[" + std::string(group) + "." + toml_key(name) + "]";
  text_ += comment.empty() ? "\n" : "  # " + std::string(comment) + "\n";
}

void SketchText::section(std::string_view name) { text_ += "\n[" + std::string(name) + "]\n"; }

void SketchText::line(std::string_view key, std::string_view value, bool assumed) {
  text_ += std::string(key) + " = " + std::string(value) + (assumed ? "  # assumed\n" : "\n");
}

void SketchText::text(std::string_view key, std::string_view value, bool assumed) {
  line(key, toml_quoted(value, false), assumed);
}

void SketchText::number(std::string_view key, double value, bool assumed) {
  line(key, base::format_number(value), assumed);
}

}  // namespace halfsplit::formats
