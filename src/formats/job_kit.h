// SPDX-License-Identifier: Apache-2.0
// The table [kit] of job files and of the profile (docs/formats/job.md). What is wrong goes to the report.
#pragma once

#include "formats/loom_report.h"
#include "formats/toml_tree.h"
#include "job/job.h"

namespace halfsplit::formats {

[[nodiscard]] job::Kit read_kit_table(LoomReport& report, const TomlValue& table);

}  // namespace halfsplit::formats
