// SPDX-License-Identifier: Apache-2.0
// Turns the TOML library's short remarks into what a technician can act on: what is wrong on the line, and what to
// write instead. Knows the library's wording; an unknown remark is passed on as it is.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace halfsplit::formats {

struct SyntaxFinding {
  std::string code;  // "syntax" or "bad-number"
  std::string message;
  std::string hint;
  std::size_t column = 1;  // in characters
  std::size_t length = 1;
};

// `remark`: the library's; `line`: the line it is about; `column`: where it stopped, in characters.
[[nodiscard]] SyntaxFinding explain_syntax(std::string_view remark, std::string_view line, std::size_t column,
                                           bool header);

[[nodiscard]] bool is_redefinition(std::string_view remark);

}  // namespace halfsplit::formats
