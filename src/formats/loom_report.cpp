// SPDX-License-Identifier: Apache-2.0
#include "formats/loom_report.h"

#include <algorithm>
#include <utility>

namespace halfsplit::formats {

namespace {
constexpr std::size_t kLongestShownLine = 16384;  // bytes; a longer line is named but not shown
constexpr std::size_t kLongestKeptLine = 400;
}  // namespace

base::Span LoomReport::kept_span(text::Position at, std::size_t length) const {
  return sources_.span(at, length, kLongestKeptLine);
}

base::Span LoomReport::span(text::Position at, std::size_t length) const {
  return sources_.span(at, length, kLongestShownLine);
}

void LoomReport::add(base::Severity severity, std::string_view code, text::Position at, std::size_t length,
                     std::string message, std::string hint) {
  base::Diagnostic diagnostic;
  diagnostic.severity = severity;
  diagnostic.code = "loom." + std::string(code);
  diagnostic.message = std::move(message);
  diagnostic.hint = std::move(hint);
  diagnostic.where = span(at, length);
  findings_.push_back({at, std::move(diagnostic)});
}

void LoomReport::error(std::string_view code, text::Position at, std::size_t length, std::string message,
                       std::string hint) {
  if (++errors_ <= kMostErrors) add(base::Severity::kError, code, at, length, std::move(message), std::move(hint));
}

void LoomReport::warning(std::string_view code, text::Position at, std::size_t length, std::string message,
                         std::string hint) {
  if (++warnings_ <= kMostWarnings)
    add(base::Severity::kWarning, code, at, length, std::move(message), std::move(hint));
}

void LoomReport::error_unless_damaged(std::string_view code, text::Position at, std::size_t length, std::string message,
                                      std::string hint) {
  if (damaged_)
    ++held_back_;
  else
    error(code, at, length, std::move(message), std::move(hint));
}

bool LoomReport::spend_hint(std::size_t names) {
  if (full() || names > hint_budget_) return false;
  hint_budget_ -= names;
  return true;
}

void LoomReport::add_note(std::string code, std::string message, std::string hint) {
  base::Diagnostic note;
  note.severity = base::Severity::kNote;
  note.code = std::move(code);
  note.message = std::move(message);
  note.hint = std::move(hint);
  if (sources_.size() > 0) note.where.file = sources_.at(0).name();
  constexpr auto kLast = static_cast<std::uint32_t>(-1);
  findings_.push_back({{kLast, kLast, kLast}, std::move(note)});
}

std::vector<base::Diagnostic> LoomReport::take() {
  if (errors_ > kMostErrors)
    add_note("loom.more-errors", "and " + std::to_string(errors_ - kMostErrors) + " more errors",
             "mend these first, then check again");
  if (warnings_ > kMostWarnings)
    add_note("loom.more-warnings", "and " + std::to_string(warnings_ - kMostWarnings) + " more warnings", "");
  if (held_back_ > 0)
    add_note("loom.checked-in-part",
             "checked in part: " + std::to_string(held_back_) +
                 " findings about missing keys and unknown names were held back, because they may come from what could "
                 "not be read",
             "mend the errors above, then check again");
  std::stable_sort(findings_.begin(), findings_.end(), [](const Finding& a, const Finding& b) { return a.at < b.at; });
  std::vector<base::Diagnostic> diagnostics;
  diagnostics.reserve(findings_.size());
  for (Finding& finding : findings_) diagnostics.push_back(std::move(finding.diagnostic));
  return diagnostics;
}

}  // namespace halfsplit::formats
