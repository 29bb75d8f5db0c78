// SPDX-License-Identifier: Apache-2.0
// Reads one TOML table against its record of fields: types, units, limits, words, unknown keys. Everything wrong goes
// to the report; what is asked for and missing or wrong comes back as the field's default, so that reading can go on.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "formats/loom_fields.h"
#include "formats/loom_report.h"
#include "formats/toml_tree.h"
#include "formats/value_text.h"

namespace halfsplit::formats {

// A text as it stands somewhere.
struct PlacedText {
  std::string text;
  text::Position at;
};

// Characters of the caret for a value of a table: a text with its quotes, else 1.
[[nodiscard]] std::size_t caret_length(const TomlValue& value);
[[nodiscard]] std::size_t caret_length(const PlacedText& placed);

class TableReader {
 public:
  // `who`: "part F3", for messages. `value` may turn out not to be a table: then it is reported and reads as empty.
  // Unknown keys are reported at once, and required ones that are missing.
  TableReader(LoomReport& report, const LoomTable& table, std::string who, const TomlValue& value);

  [[nodiscard]] bool has(std::string_view key) const { return find(key) != nullptr; }
  [[nodiscard]] const TomlValue* find(std::string_view key) const;
  // The place of a key's value, or of the whole table.
  [[nodiscard]] text::Position at(std::string_view key) const;

  [[nodiscard]] double number(std::string_view key);  // the field's default when missing
  [[nodiscard]] std::optional<double> maybe_number(std::string_view key);
  [[nodiscard]] bool flag(std::string_view key);
  [[nodiscard]] std::optional<std::uint32_t> identifier(std::string_view key);  // 61444, 0xF004 or "0xF004"
  [[nodiscard]] std::string text(std::string_view key);
  [[nodiscard]] std::optional<std::size_t> word(std::string_view key);  // index into the field's words
  [[nodiscard]] std::vector<std::size_t> words(std::string_view key);
  [[nodiscard]] std::optional<PlacedText> placed_text(std::string_view key);
  [[nodiscard]] std::vector<PlacedText> placed_texts(std::string_view key);

  // Reports a key that does not belong to a table of this role or kind (LoomField::only_for).
  void check_owner(std::string_view owner);

  void error(std::string_view code, std::string_view key, std::string message, std::string hint = "");
  // A problem inside the text value of `key`.
  void problem(const TomlValue& value, const TextProblem& problem);

  [[nodiscard]] bool failed() const { return report_.trouble_count() > trouble_before_; }
  [[nodiscard]] const std::string& who() const { return who_; }
  [[nodiscard]] LoomReport& report() { return report_; }

 private:
  void check_keys();
  [[nodiscard]] const LoomField& field(std::string_view key) const;
  void wrong_type(const TomlValue& value, const LoomField& field, std::string_view wanted);
  [[nodiscard]] std::optional<double> read_number(const TomlValue& value, const LoomField& field);
  [[nodiscard]] std::optional<std::size_t> read_word(const TomlValue& value, const LoomField& field);
  [[nodiscard]] std::optional<std::string> read_text(const TomlValue& value, const LoomField& field);

  LoomReport& report_;
  const LoomTable& table_;
  std::string who_;
  const TomlValue& value_;
  std::size_t trouble_before_;
  bool usable_;
};

// "a, b or c", for hints.
[[nodiscard]] std::string list_words(const std::vector<std::string_view>& words);
// "did you mean x?" or, when nothing is near, the words themselves.
[[nodiscard]] std::string suggest(std::string_view wanted, const std::vector<std::string_view>& words);

// Reports a TextProblem of a text value in the place where it was written.
void report_problem(LoomReport& report, const TomlValue& value, const TextProblem& problem);

}  // namespace halfsplit::formats
