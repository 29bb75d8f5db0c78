// SPDX-License-Identifier: Apache-2.0
#include "cli/terminal_questions.h"

#include <unistd.h>

#include <iostream>

namespace halfsplit::cli {

std::optional<std::string> TerminalQuestions::ask(std::string_view question, std::string_view fallback) {
  std::cout << question << (fallback.empty() ? "" : " [" + std::string(fallback) + "]") << ": " << std::flush;
  std::string line;
  if (!std::getline(std::cin, line)) {
    std::cout << "\n";
    return std::nullopt;
  }
  if (isatty(STDIN_FILENO) == 0) std::cout << line << "\n";
  const std::size_t first = line.find_first_not_of(" \t\r");
  if (first == std::string::npos) return std::string(fallback);
  return line.substr(first, line.find_last_not_of(" \t\r") - first + 1);
}

void TerminalQuestions::say(std::string_view text) { std::cout << text << std::flush; }

}  // namespace halfsplit::cli
