// SPDX-License-Identifier: Apache-2.0
// Paths as text: '/' between folders, no file system asked. Enough to say which file an `include` means.
#pragma once

#include <string>
#include <string_view>

namespace halfsplit::text {

[[nodiscard]] bool is_absolute_path(std::string_view path);

// `relative` seen from the folder of the file `from`, with "." and ".." taken out as far as the names allow.
[[nodiscard]] std::string join_path(std::string_view from, std::string_view relative);

// "a/./b/../c" -> "a/c"; leading ".." stay; "" -> ".".
[[nodiscard]] std::string normal_path(std::string_view path);

}  // namespace halfsplit::text
