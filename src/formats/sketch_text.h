// SPDX-License-Identifier: Apache-2.0
// Writes the lines of a sketched loom. What was not told ends in "# assumed", so that it is found and put right.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::formats {

// As a TOML key: bare where TOML allows it, else quoted.
[[nodiscard]] std::string toml_key(std::string_view name);

class SketchText {
 public:
  // "# words" above all else.
  void remark(std::string_view words);
  // A table and, behind its head, what it is.
  void table(std::string_view group, std::string_view name, std::string_view comment = "");
  void section(std::string_view name);
  // VALUE as it stands in the file, a text quoted by text().
  void line(std::string_view key, std::string_view value, bool assumed = false);
  void text(std::string_view key, std::string_view value, bool assumed = false);
  void number(std::string_view key, double value, bool assumed = false);
  [[nodiscard]] const std::string& str() const { return text_; }

 private:
  std::string text_;
};

// ["a", "b"]
[[nodiscard]] std::string toml_list(const std::vector<std::string>& texts);

}  // namespace halfsplit::formats
