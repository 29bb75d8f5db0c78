// SPDX-License-Identifier: Apache-2.0
// Secrets of 128 bits as 32 hex digits: for addresses that let somebody in once, and for cookies.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace halfsplit::http {

using SecretMaker = std::function<std::string()>;

// From the system's generator, getrandom(2). Ends the program when the system has none to give.
[[nodiscard]] std::string make_secret();

[[nodiscard]] bool is_secret(std::string_view text);  // 32 hex digits in small letters

// Takes as long whatever differs; texts of unequal length are unequal at once.
[[nodiscard]] bool same_secret(std::string_view one, std::string_view other);

}  // namespace halfsplit::http
