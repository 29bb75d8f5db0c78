// SPDX-License-Identifier: Apache-2.0
// What a file of message descriptions holds, whatever its format, and what its readers share. Formats: dbc_text.h,
// kcd_text.h. Reading only.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "can/signals.h"
#include "text/source.h"

namespace halfsplit::formats {

struct DescriptionFile {
  can::Descriptions descriptions;
  std::size_t passed_over = 0;  // statements or elements that were not needed or not known
};

// Whichever of the formats the text is: what begins with "<" is KCD, all else DBC. Errors and warnings of that reader.
[[nodiscard]] base::Result<DescriptionFile> read_description_text(std::string_view name, std::string_view text);

// Text as UTF-8: what is not valid as such is taken for Windows-1252, in which units like "°C" are often written.
[[nodiscard]] std::string description_utf8(std::string_view text);

// A number as these formats write it: a sign, digits, a point, an exponent. None: not a finite number.
[[nodiscard]] std::optional<double> description_number(std::string_view text);

// Warnings of one reading, each with its place; from kMostNotes on they are counted, and the last one says how many
// more.
class DescriptionNotes {
 public:
  static constexpr std::size_t kMostNotes = 20;
  explicit DescriptionNotes(const text::Source& source) : source_(source) {}
  void add(std::string code, std::string message, std::string hint, std::size_t offset, std::size_t length = 1);
  [[nodiscard]] std::vector<base::Diagnostic> take();

 private:
  const text::Source& source_;
  std::vector<base::Diagnostic> notes_;
  std::size_t more_ = 0;
};

// Why a signal cannot be meant: no bits, bits beyond its message, a floating number of other than 32 or 64 bits; empty:
// it can. `length` in bytes, 0: not known.
[[nodiscard]] std::string impossible_signal(const can::Signal& signal, std::size_t length);

// Words in rising order, each value once (the first one said).
void tidy_words(can::Signal& signal);

}  // namespace halfsplit::formats
