// SPDX-License-Identifier: Apache-2.0
// Any bytes as a job file: never a crash, every refusal says why and where, and what is read can be written and read
// again to the same text.
#include <cstdint>
#include <string_view>

#include "formats/job_text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const auto job = formats::read_job_text("fuzz", std::string_view(reinterpret_cast<const char*>(data), size));
  if (!job.ok()) {
    HS_CHECK(base::has_error(job.diagnostics()), "a refusal says why");
    (void)base::format_diagnostics(job.diagnostics());
    return 0;
  }
  const auto text = formats::write_job_text(*job);
  HS_CHECK(text.ok(), "what was read can be written");
  const auto again = formats::read_job_text("fuzz", *text);
  HS_CHECK(again.ok() && again->entries.size() == job->entries.size(), "what was written can be read");
  const auto twice = formats::write_job_text(*again);
  HS_CHECK(twice.ok() && *twice == *text, "writing settles at once");
  return 0;
}
