// SPDX-License-Identifier: Apache-2.0
// Questions to whoever sits at the keyboard, or to lines on standard input, which are then shown as typed.
#pragma once

#include "base/seams.h"

namespace halfsplit::cli {

class TerminalQuestions : public base::Questions {
 public:
  [[nodiscard]] std::optional<std::string> ask(std::string_view question, std::string_view fallback) override;
  void say(std::string_view text) override;
};

}  // namespace halfsplit::cli
