// SPDX-License-Identifier: Apache-2.0
// What SQLite does not do for us: a folder and a file that only their owner may read. POSIX.
#pragma once

#include <string>

namespace halfsplit::store {

// An empty file, 0600, when there is none; an existing one is left as it is. False when that cannot be.
[[nodiscard]] bool make_private_file(const std::string& path);
[[nodiscard]] bool file_exists(const std::string& path);

}  // namespace halfsplit::store
