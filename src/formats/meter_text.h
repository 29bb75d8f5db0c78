// SPDX-License-Identifier: Apache-2.0
// Reads and writes meter files (docs/formats/meter.md): TOML 1.0, version 1, UTF-8, file name *.meter.toml. No I/O. All
// errors come together, each with file, line, column, the line itself, a stable code "meter.*" and a hint. Never
// half-filled: either a whole profile or errors. No exceptions, no globals; may be called from several threads at once.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.h"
#include "formats/loom_report.h"
#include "formats/toml_tree.h"
#include "meters/meter_profile.h"

namespace halfsplit::formats {

inline constexpr int kMeterVersion = 1;
inline constexpr std::size_t kMostMeterBytes = std::size_t{1} << 20U;  // above it: meter.too-large
inline constexpr std::size_t kMostMeterRanges = 20;                    // of one instrument
inline constexpr std::size_t kMostMeterName = 80;                      // characters

// `name` stands for the file in diagnostics.
[[nodiscard]] base::Result<meters::MeterProfile> read_meter_text(const std::string& name, std::string_view text);
// The file's text: every key, with a word about each. Reading it back gives an equal profile. A name or note that is
// not UTF-8 has its bad bytes replaced.
[[nodiscard]] std::string write_meter_text(const meters::MeterProfile& meter);

// The same tables inside another file, under `header` ("meter"); what is wrong goes to the report.
[[nodiscard]] meters::MeterProfile read_meter_table(LoomReport& report, const TomlValue& table);
[[nodiscard]] std::string write_meter_table(const meters::MeterProfile& meter, std::string_view header);

}  // namespace halfsplit::formats
