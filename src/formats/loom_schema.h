// SPDX-License-Identifier: Apache-2.0
// The loom format as documents for others, made from the tables the reader itself uses (loom_fields.h, part_kinds.h).
// Committed copies: docs/formats/loom.schema.json and the parts table in docs/formats/loom.md; a test keeps them fresh.
#pragma once

#include <string>

namespace halfsplit::formats {

// JSON Schema, draft 2020-12, indented, ending with a newline.
[[nodiscard]] std::string loom_schema();

// The parts table of docs/formats/loom.md: what stands between the two markers, without them.
[[nodiscard]] std::string part_kinds_markdown();

inline constexpr const char* kPartsTableBegin = "<!-- parts table: generated -->";
inline constexpr const char* kPartsTableEnd = "<!-- end of parts table -->";

}  // namespace halfsplit::formats
