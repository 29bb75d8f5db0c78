// SPDX-License-Identifier: Apache-2.0
// Collects what is wrong with the looms being read: places become spans with the line they stand on, floods are cut,
// and what may only be the consequence of something lost (a line with a syntax error, a missing file) is held back.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/diagnostic.h"
#include "formats/text_problem.h"
#include "text/source.h"

namespace halfsplit::formats {

class LoomReport {
 public:
  explicit LoomReport(const text::Sources& sources) : sources_(sources) {}

  // `length` in characters, for the caret. A position without a line is a finding about a whole file.
  void error(std::string_view code, text::Position at, std::size_t length, std::string message, std::string hint = "");
  void warning(std::string_view code, text::Position at, std::size_t length, std::string message,
               std::string hint = "");
  // Left out, and only counted, once something has been lost.
  void error_unless_damaged(std::string_view code, text::Position at, std::size_t length, std::string message,
                            std::string hint = "");

  // Something that was written could not be read, so that names and keys may seem to be missing.
  void set_damaged() { damaged_ = true; }
  [[nodiscard]] bool damaged() const { return damaged_; }
  [[nodiscard]] std::size_t error_count() const { return errors_; }
  // Errors and what was held back: did reading something go well?
  [[nodiscard]] std::size_t trouble_count() const { return errors_ + held_back_; }
  [[nodiscard]] bool has_errors() const { return errors_ > 0; }
  // True when more errors would only be counted: hints need not be worked out any more.
  [[nodiscard]] bool full() const { return errors_ >= kMostErrors; }

  // May the nearest of so many names be looked for? No more when there are more errors than will be shown, or when it
  // has taken long enough already.
  [[nodiscard]] bool spend_hint(std::size_t names);
  [[nodiscard]] bool warnings_full() const { return warnings_ >= kMostWarnings; }

  [[nodiscard]] base::Span span(text::Position at, std::size_t length) const;
  // The same for a value that is kept (Wire::where): long lines are left out, for there may be many such values.
  [[nodiscard]] base::Span kept_span(text::Position at, std::size_t length) const;
  [[nodiscard]] const text::Sources& sources() const { return sources_; }

  // Everything, in the order of the files and lines, with notes on what was left out.
  [[nodiscard]] std::vector<base::Diagnostic> take();

  static constexpr std::size_t kMostErrors = 200;
  static constexpr std::size_t kMostWarnings = 200;
  static constexpr std::size_t kMostCompared = 500'000;  // names, over all hints

 private:
  struct Finding {
    text::Position at;
    base::Diagnostic diagnostic;
  };
  void add(base::Severity severity, std::string_view code, text::Position at, std::size_t length, std::string message,
           std::string hint);
  void add_note(std::string code, std::string message, std::string hint);

  const text::Sources& sources_;
  std::vector<Finding> findings_;
  std::size_t hint_budget_ = kMostCompared;
  std::size_t errors_ = 0, warnings_ = 0, held_back_ = 0;
  bool damaged_ = false;
};

}  // namespace halfsplit::formats
