// SPDX-License-Identifier: Apache-2.0
#include "base/diagnostic.h"

#include <algorithm>
#include <string_view>
#include <utility>

namespace halfsplit::base {

namespace {

const char* severity_word(Severity severity) {
  switch (severity) {
    case Severity::kError:
      return "error";
    case Severity::kWarning:
      return "warning";
    case Severity::kNote:
      return "note";
  }
  return "error";
}

// A file's own control characters never reach the terminal: they show as "?"; a tab stays.
std::string printable(std::string_view text) {
  std::string out;
  for (const char c : text) out += (static_cast<unsigned char>(c) < 0x20U && c != '\t') || c == 0x7F ? '?' : c;
  return out;
}

// The line and a caret under the place; tabs are kept so that the caret stays in column. A very long line is cut to a
// window around the place.
std::string caret_block(const Span& where) {
  constexpr std::size_t kWindow = 120;
  std::vector<std::string> characters;
  for (std::size_t i = 0; i < where.source_line.size();) {
    std::size_t n = 1;
    while (i + n < where.source_line.size() && (static_cast<unsigned char>(where.source_line[i + n]) & 0xC0U) == 0x80U)
      ++n;
    characters.push_back(where.source_line.substr(i, n));
    i += n;
  }
  const std::size_t at = where.column == 0 ? 0 : where.column - 1;
  const std::size_t begin = at > kWindow / 2 && characters.size() > kWindow ? at - kWindow / 2 : 0;
  const std::size_t end = std::min(characters.size(), begin + kWindow);
  std::string text = begin > 0 ? "    ..." : "    ";
  std::string under = begin > 0 ? "       " : "    ";
  for (std::size_t i = begin; i < end; ++i) text += printable(characters[i]);
  for (std::size_t i = begin; i < at; ++i) under += i < characters.size() && characters[i] == "\t" ? "\t" : " ";
  const std::size_t room = end > at ? end - at : 1;
  under += "^" + std::string(std::min(where.length > 1 ? where.length - 1 : 0, room - 1), '~');
  return text + (end < characters.size() ? "...\n" : "\n") + under + "\n";
}

}  // namespace

Diagnostic make_error(std::string code, std::string message, std::string hint) {
  return Diagnostic{Severity::kError, std::move(code), std::move(message), std::move(hint), {}};
}

Diagnostic make_warning(std::string code, std::string message, std::string hint) {
  return Diagnostic{Severity::kWarning, std::move(code), std::move(message), std::move(hint), {}};
}

std::string format_diagnostic(const Diagnostic& diagnostic) {
  std::string text;
  const Span& where = diagnostic.where;
  if (!where.file.empty()) {
    text += where.file;
    if (where.line > 0) text += ":" + std::to_string(where.line) + ":" + std::to_string(where.column);
    text += ": ";
  }
  text += std::string(severity_word(diagnostic.severity)) + ": " + printable(diagnostic.message);
  if (!diagnostic.code.empty()) text += " [" + diagnostic.code + "]";
  text += "\n";
  if (where.line > 0 && !where.source_line.empty()) text += caret_block(where);
  if (!diagnostic.hint.empty()) text += "    hint: " + printable(diagnostic.hint) + "\n";
  return text;
}

std::string format_diagnostics(const std::vector<Diagnostic>& diagnostics) {
  std::string text;
  for (const Diagnostic& diagnostic : diagnostics) text += format_diagnostic(diagnostic);
  return text;
}

bool has_error(const std::vector<Diagnostic>& diagnostics) {
  return std::any_of(diagnostics.begin(), diagnostics.end(),
                     [](const Diagnostic& d) { return d.severity == Severity::kError; });
}

}  // namespace halfsplit::base
