// SPDX-License-Identifier: Apache-2.0
// A job small enough for a printed square code (docs/formats/job-code.md): "HALFSPLIT1:", then the job file's text
// without kit, meter, prints and proposals, deflated (zlib, RFC 1950) and written in base 45 (RFC 9285).
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "job/job.h"

namespace halfsplit::formats {

// Errors: those of writing a job.
[[nodiscard]] base::Result<std::string> write_job_code(const job::Job& job);
// Errors: code.not-a-job, code.damaged, and those of reading a job.
[[nodiscard]] base::Result<job::Job> read_job_code(std::string_view text);

// RFC 9285. Errors of decoding: code.damaged.
[[nodiscard]] std::string base45_encode(std::string_view bytes);
[[nodiscard]] base::Result<std::string> base45_decode(std::string_view text);

}  // namespace halfsplit::formats
