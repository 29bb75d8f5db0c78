// SPDX-License-Identifier: Apache-2.0
// Reads and writes job files (docs/formats/job.md): TOML 1.0, version 1, UTF-8, file name *.job.toml. No I/O. All
// errors come together, each with file, line, column, the line itself, a stable code "job.*" and a hint. Never
// half-filled: either a whole Job or errors. No exceptions, no globals; may be called from several threads at once.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.h"
#include "job/job.h"

namespace halfsplit::formats {

inline constexpr int kJobVersion = 1;
inline constexpr std::size_t kMostJobBytes = std::size_t{16} << 20U;  // above it: job.too-large

// `name` stands for the file in diagnostics.
[[nodiscard]] base::Result<job::Job> read_job_text(const std::string& name, std::string_view text);

// The file's text, in a stable order; reading it back gives an equal Job. What the reader would refuse is refused here
// too (a note that is not UTF-8, a number used twice), so that no job is ever written that cannot be read again.
[[nodiscard]] base::Result<std::string> write_job_text(const job::Job& job);

}  // namespace halfsplit::formats
