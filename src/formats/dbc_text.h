// SPDX-License-Identifier: Apache-2.0
// Message descriptions in DBC, as found in the field: messages, signals, value words, units, multiplexing (plain and
// extended), J1939 and SPN attributes, cycle times, long names, remarks. Tolerant: statements not needed here are
// passed over and counted; what is broken is told at its line and column and the rest is read all the same.
#pragma once

#include <string_view>

#include "base/result.h"
#include "formats/description_file.h"

namespace halfsplit::formats {

// Errors: dbc.nothing-described (with all that went wrong before). Warnings beside a value: dbc.broken-statement,
// dbc.impossible-signal, dbc.unknown-name, dbc.twice-described, descriptions.more.
[[nodiscard]] base::Result<DescriptionFile> read_dbc_text(std::string_view name, std::string_view text);

}  // namespace halfsplit::formats
