// SPDX-License-Identifier: Apache-2.0
// What went wrong, where, what was expected and how to mend it. Plain values; report rooms turn them into text.
// Lines and columns count from 1; column counts UTF-8 characters; 0 means "not in a file".
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace halfsplit::base {

enum class Severity { kError, kWarning, kNote };

struct Span {
  std::string file;      // as the user named it; empty when there is none
  std::size_t line = 0;  // from 1
  std::size_t column = 0;
  std::size_t length = 1;   // characters under the caret
  std::string source_line;  // the line as it stands in the file, for the caret
};

struct Diagnostic {
  Severity severity = Severity::kError;
  std::string code;     // stable, e.g. "loom.unknown-point"
  std::string message;  // what and which value
  std::string hint;     // how to mend it
  Span where;
};

// Makes an error without a place in a file (arguments, state of a job).
[[nodiscard]] Diagnostic make_error(std::string code, std::string message, std::string hint = "");
[[nodiscard]] Diagnostic make_warning(std::string code, std::string message, std::string hint = "");

// "file:line:column: error: message [code]" with the line, a caret and the hint below.
[[nodiscard]] std::string format_diagnostic(const Diagnostic& diagnostic);
[[nodiscard]] std::string format_diagnostics(const std::vector<Diagnostic>& diagnostics);

[[nodiscard]] bool has_error(const std::vector<Diagnostic>& diagnostics);

}  // namespace halfsplit::base
