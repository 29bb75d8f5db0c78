// SPDX-License-Identifier: Apache-2.0
// The job file's tables and keys as data (docs/formats/job.md), for the reader.
#pragma once

#include <string_view>
#include <vector>

#include "formats/loom_fields.h"

namespace halfsplit::formats {

enum class JobTable { kTop, kKit, kAsked, kEntry };

[[nodiscard]] const LoomTable& job_table(JobTable table);

// What an entry may be, in the order of the reference: "saw", "did", "note".
[[nodiscard]] const std::vector<std::string_view>& entry_verbs();

}  // namespace halfsplit::formats
