// SPDX-License-Identifier: Apache-2.0
// Where the book lies: HALFSPLIT_BOOK, else halfsplit in XDG_DATA_HOME, else ~/.local/share/halfsplit (XDG Base
// Directory Specification, from memory).
#pragma once

#include <string>

namespace halfsplit::cli {

// Empty: nowhere (no HOME).
[[nodiscard]] std::string book_folder();
// It and all above it; what cannot be made is found out by the write that follows.
void make_book_folder();

}  // namespace halfsplit::cli
