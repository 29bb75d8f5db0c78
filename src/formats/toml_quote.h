// SPDX-License-Identifier: Apache-2.0
// Text as a TOML string (TOML 1.0.0, section String). The text is UTF-8.
#pragma once

#include <string>
#include <string_view>

namespace halfsplit::formats {

// "text", or with `lines` """text""" with its line breaks as they were typed.
[[nodiscard]] std::string toml_quoted(std::string_view text, bool lines);

}  // namespace halfsplit::formats
