// SPDX-License-Identifier: Apache-2.0
// The tables of the book, version by version; PRAGMA user_version says which one a file has. A file is brought up one
// version at a time, each in a transaction of its own. Described for readers in docs/formats/book.md.
#pragma once

#include <span>

namespace halfsplit::store {

// [0] makes version 1, [1] brings 1 to 2, ... What once stood here is never changed: files were made with it.
[[nodiscard]] std::span<const char* const> schema_steps();

}  // namespace halfsplit::store
