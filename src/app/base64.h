// SPDX-License-Identifier: Apache-2.0
// Bytes that came as base64 in JSON. Source: RFC 4648, by libgpg-error.
#pragma once

#include <optional>
#include <string>

namespace halfsplit::app {

// None: it is not base64.
[[nodiscard]] std::optional<std::string> from_base64(std::string text);

}  // namespace halfsplit::app
