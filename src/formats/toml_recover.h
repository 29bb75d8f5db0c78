// SPDX-License-Identifier: Apache-2.0
// Reads a TOML file of the sources with all its syntax errors at once. The parser stops at the first error; here every
// statement that does not parse by itself is reported and left out, a bad [header] with all that stands below it.
#pragma once

#include <cstdint>

#include "formats/loom_report.h"
#include "formats/toml_tree.h"
#include "text/source.h"

namespace halfsplit::formats {

inline constexpr std::size_t kDeepestNesting = 32;
inline constexpr std::size_t kLongestDottedKey = 32;
inline constexpr std::size_t kMostDottedKeys = 20'000;
inline constexpr std::size_t kMostTomlValues = 1'000'000;

// What could be read, which may be an empty table. Errors go to the report: syntax, duplicate-key, duplicate-name,
// bad-number, too-deep, too-many.
[[nodiscard]] TomlValue read_toml(const text::Sources& sources, std::uint32_t file, LoomReport& report);

}  // namespace halfsplit::formats
