// SPDX-License-Identifier: Apache-2.0
// Why a test is not the one proposed: refused because it could hurt, taken already, skipped, telling too little, or
// telling less for its minutes than others.
#pragma once

#include <string>
#include <vector>

#include "app/outlook.h"

namespace halfsplit::app {

struct WhyNot {
  std::string what;     // as the program spells it
  std::string refusal;  // not empty: it must not be done, and why
  bool taken = false, skipped = false;
  bool weighed = false;            // one of the tests considered; the rest holds then
  std::string state;               // the one it would be taken in
  double bits = 0.0;               // about which repair is needed
  double minutes = 0.0;            // everything made for it and undone again
  std::size_t better = 0, of = 0;  // tests that tell more for a minute, of how many
};

// Errors: those of reading a test's words.
[[nodiscard]] base::Result<WhyNot> why_not(Context& context, Session& session, const std::string& words);

[[nodiscard]] std::string why_not_text(const WhyNot& why);
[[nodiscard]] Json why_not_json(const WhyNot& why);

}  // namespace halfsplit::app
