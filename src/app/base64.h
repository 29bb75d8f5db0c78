// SPDX-License-Identifier: Apache-2.0
// Bytes that come and go as base64 in JSON. Source: RFC 4648, by libgpg-error.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace halfsplit::app {

// None: it is not base64.
[[nodiscard]] std::optional<std::string> from_base64(std::string text);
// Without line breaks. None: there is no memory for it.
[[nodiscard]] std::optional<std::string> to_base64(std::string_view bytes);

}  // namespace halfsplit::app
