// SPDX-License-Identifier: Apache-2.0
// Walks over DBC text word by word. Nothing is kept: words and strings are views into the text, which must outlive the
// cursor (the text of a "..." with escapes is made anew).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace halfsplit::formats {

class DbcCursor {
 public:
  explicit DbcCursor(std::string_view text) : text_(text) {}

  [[nodiscard]] std::size_t at() const { return at_; }
  // Where the word, mark or string began that was asked for last.
  [[nodiscard]] std::size_t last() const { return last_; }
  [[nodiscard]] bool at_end();  // nothing but blanks follows
  // A run of characters that are no blank and none of : ; , | @ ( ) [ ] "; empty: none stands here.
  [[nodiscard]] std::string_view word();
  // The next word without taking it.
  [[nodiscard]] std::string_view peek();
  // Takes this character if it stands here.
  [[nodiscard]] bool mark(char character);
  [[nodiscard]] std::optional<double> number();
  [[nodiscard]] std::optional<std::uint64_t> whole();  // not negative
  [[nodiscard]] std::optional<std::int64_t> whole_with_sign();
  // "...", over several lines if need be; \" is a quote.
  [[nodiscard]] std::optional<std::string> string();
  // Behind the next ; outside a string; stops before a line that begins a statement, for those that forgot it.
  void skip_statement();
  // Before the next line that begins a statement; at least to the next line.
  void skip_to_statement();

  // Whether `word` begins statements: BO_, SG_, CM_, ...
  [[nodiscard]] static bool is_keyword(std::string_view word);

 private:
  void skip_blanks();
  [[nodiscard]] bool line_begins_statement() const;

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t last_ = 0;
};

}  // namespace halfsplit::formats
