// SPDX-License-Identifier: Apache-2.0
// Text without the blanks and tabs around it.
#pragma once

#include <string_view>

namespace halfsplit::text {

[[nodiscard]] constexpr std::string_view without_blanks(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

}  // namespace halfsplit::text
