// SPDX-License-Identifier: Apache-2.0
// Text from other programs as UTF-8. Spreadsheets save what they call CSV in Windows-1252 or UTF-16 as well.
#pragma once

#include <string>
#include <string_view>

namespace halfsplit::text {

struct Decoded {
  std::string text;
  std::string_view from;  // "UTF-16", "Windows-1252"; empty: it was UTF-8, or no text that we know, and is as it was
};

// UTF-16 by its byte order mark, or where every other byte of the first characters is zero; else valid UTF-8, without
// its mark; else, when no character of it is valid UTF-8 of several bytes, Windows-1252, which holds Latin-1.
[[nodiscard]] Decoded decode_text(std::string_view bytes);

}  // namespace halfsplit::text
