// SPDX-License-Identifier: Apache-2.0
// Rows of comma-separated values: fields that hold a comma, a quote or a line break stand between quotes. Source:
// RFC 4180; lines end in LF.
#pragma once

#include <string>
#include <vector>

namespace halfsplit::text {

[[nodiscard]] std::string csv_row(const std::vector<std::string>& fields);

}  // namespace halfsplit::text
