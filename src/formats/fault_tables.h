// SPDX-License-Identifier: Apache-2.0
// The tables of faults as the page on looms shows them: rates and ranges, what stress does to them, what repairs take.
// The committed copy stands between the two markers in docs/formats/loom.md; a test keeps it fresh.
#pragma once

#include <string>
#include <string_view>

namespace halfsplit::formats {

constexpr std::string_view kFaultTablesBegin = "<!-- fault tables: generated -->";
constexpr std::string_view kFaultTablesEnd = "<!-- end of fault tables -->";

[[nodiscard]] std::string fault_tables_markdown();

}  // namespace halfsplit::formats
