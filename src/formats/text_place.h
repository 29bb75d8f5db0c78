// SPDX-License-Identifier: Apache-2.0
// From an offset inside a TOML text value to the line and column where that byte was written: quotes, escapes and line
// joins are walked over. Source: TOML 1.0.0, section String.
#pragma once

#include <cstddef>

#include "text/source.h"

namespace halfsplit::formats {

// Answers rising offsets in linear time altogether; a smaller offset than the last one starts again from the front.
class TextPlace {
 public:
  // `value_at`: where the value begins in the source, at its opening quote.
  TextPlace(const text::Source& source, text::Position value_at);
  [[nodiscard]] text::Position at(std::size_t offset);

 private:
  void restart();
  void open_quotes();
  void step();
  void step_escape();
  void advance(std::size_t characters);
  void skip_line_join();
  [[nodiscard]] bool at_break() const;
  [[nodiscard]] bool at_line_join() const;
  [[nodiscard]] bool ends(std::size_t bytes) const { return raw_ + bytes >= source_.text().size(); }

  const text::Source& source_;
  text::Position begin_;
  text::Position place_;
  std::size_t raw_ = 0;      // byte in the file
  std::size_t decoded_ = 0;  // byte in the value
  bool escapes_ = false;     // "..." and not '...'
};

}  // namespace halfsplit::formats
