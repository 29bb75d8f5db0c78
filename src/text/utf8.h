// SPDX-License-Identifier: Apache-2.0
// UTF-8 as bytes: is it valid, and how many characters is it. Source: RFC 3629, section 4.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace halfsplit::text {

// Offset of the first byte that is not part of a valid character (overlong forms and surrogates are invalid).
[[nodiscard]] std::optional<std::size_t> find_invalid_utf8(std::string_view text);

// Bytes of the character that begins at `at`; 1 for a stray byte. `at` < text.size().
[[nodiscard]] std::size_t character_bytes(std::string_view text, std::size_t at);

[[nodiscard]] std::size_t count_characters(std::string_view text);

// Bytes that `code_point` takes; 3 for a surrogate or a number out of range (it stands for U+FFFD).
[[nodiscard]] std::size_t utf8_length(std::uint32_t code_point);

// At most `characters` characters, with "..." when something was cut.
[[nodiscard]] std::string shorten(std::string_view text, std::size_t characters);

}  // namespace halfsplit::text
