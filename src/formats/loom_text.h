// SPDX-License-Identifier: Apache-2.0
// Reads loom files (docs/formats/loom.md, part 1) into circuit::Loom. No I/O: files arrive through a SourceReader.
// All errors come together, each with file, line, column, the line itself, a stable code "loom.*" and a hint; a Result
// that holds a Loom may carry warnings and notes. Never half-filled: either a whole Loom or errors. No exceptions, no
// globals; may be called from several threads at once.
#pragma once

#include <cstddef>
#include <functional>
#include <string>

#include "base/result.h"
#include "circuit/loom.h"

namespace halfsplit::formats {

inline constexpr std::size_t kMostLoomBytes = std::size_t{16} << 20U;  // of one file; above it: loom.too-large
inline constexpr std::size_t kMostLoomFiles = 64;                      // all includes together
inline constexpr std::size_t kMostIncludeDepth = 16;
inline constexpr std::size_t kMostLoomItems = 200'000;  // names, cavities and wires together: loom.too-many

// Gives the whole text of a file by its path. A file that is too large may be refused here already (file.too-large);
// otherwise the loom reader refuses it itself.
using SourceReader = std::function<base::Result<std::string>(const std::string& path)>;

// Reads `path` and what it includes. Included paths are relative to the file that names them, with '/' between folders.
[[nodiscard]] base::Result<circuit::Loom> read_loom(const std::string& path, const SourceReader& read);

// Reads one loom from memory; `name` stands for the file in diagnostics. An `include` is refused
// (loom.include-missing).
[[nodiscard]] base::Result<circuit::Loom> read_loom_text(const std::string& name, const std::string& text);

}  // namespace halfsplit::formats
