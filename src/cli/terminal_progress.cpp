// SPDX-License-Identifier: Apache-2.0
#include "cli/terminal_progress.h"

#include <unistd.h>

#include <cstdio>

namespace halfsplit::cli {

TerminalProgress::TerminalProgress() : watched_(isatty(STDERR_FILENO) != 0) {}

TerminalProgress::~TerminalProgress() {
  if (shown_) std::fputs("\r\033[K", stderr);
}

void TerminalProgress::report(std::string_view what, double fraction) {
  if (!watched_) return;
  const auto now = std::chrono::steady_clock::now();
  if (now - last_ < std::chrono::milliseconds(150)) return;
  last_ = now;
  shown_ = true;
  std::fprintf(stderr, "\r%.*s %3.0f %%", static_cast<int>(what.size()), what.data(), fraction * 100.0);
}

}  // namespace halfsplit::cli
