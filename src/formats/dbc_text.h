// SPDX-License-Identifier: Apache-2.0
// Message descriptions in DBC, as found in the field: messages, signals, value words, units, multiplexing (plain and
// extended), J1939 and SPN attributes, cycle times, remarks. Reading only. Tolerant: statements not needed here are
// passed over and counted; what is broken is told at its line and column and the rest is read all the same.
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "can/signals.h"

namespace halfsplit::formats {

struct DescriptionFile {
  can::Descriptions descriptions;
  std::size_t passed_over = 0;  // statements or elements that were not needed or not known
};

// Errors: dbc.nothing-described (with all that went wrong before). Warnings beside a value: dbc.broken-statement,
// dbc.impossible-signal, dbc.unknown-message, dbc.twice-described.
[[nodiscard]] base::Result<DescriptionFile> read_dbc_text(std::string_view name, std::string_view text);

}  // namespace halfsplit::formats
