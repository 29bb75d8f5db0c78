// SPDX-License-Identifier: Apache-2.0
// What the readers of formats of one file share (job, meter): is it readable at all, of which version, and the loom
// reader's codes under the format's own name.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "formats/loom_report.h"
#include "formats/toml_tree.h"

namespace halfsplit::formats {

struct OneFileFormat {
  std::string_view key;  // "job": holds the version, and is the first word of its codes
  int version = 1;
  std::size_t most_bytes = 0;
  std::string_view size_text;   // "16 MiB"
  std::string_view empty_hint;  // what such a file begins with
  std::string_view other_hint;  // what to give when a file of another format was given
  std::string_view newer_hint;
};

// Reports too-large, empty, not-utf8. The source of a file that is too large holds no text.
[[nodiscard]] bool is_readable(LoomReport& report, const text::Source& source, bool too_large,
                               const OneFileFormat& format);
// Reports not-a-KEY (a file of another format) and version. A missing version is left to the table's record.
[[nodiscard]] bool check_version(LoomReport& report, const TomlValue& root, const OneFileFormat& format);
// "loom.bad-type" -> "job.bad-type"; a name used twice is a key used twice here.
void rename_codes(std::vector<base::Diagnostic>& said, const OneFileFormat& format);

}  // namespace halfsplit::formats
