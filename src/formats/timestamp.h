// SPDX-License-Identifier: Apache-2.0
// Times as job files write them: "2024-05-06T07:08:09Z" (ISO 8601, UTC, whole seconds), years 1970 to 9999.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace halfsplit::formats {

inline constexpr std::int64_t kLastTimestamp = 253'402'300'799;  // 9999-12-31T23:59:59Z

// Seconds since 1970-01-01 UTC; none when the text has another form or names a day or second that does not exist.
[[nodiscard]] std::optional<std::int64_t> parse_timestamp(std::string_view text);

// Seconds outside 0 to kLastTimestamp are held at the ends.
[[nodiscard]] std::string format_timestamp(std::int64_t seconds);

}  // namespace halfsplit::formats
