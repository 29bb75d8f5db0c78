// SPDX-License-Identifier: Apache-2.0
// Brings in a loom file and all it includes: size, UTF-8, version and circles are checked here, TOML is parsed; what
// the tables mean is not looked at.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "formats/loom_report.h"
#include "formats/loom_text.h"
#include "formats/toml_tree.h"
#include "text/source.h"

namespace halfsplit::formats {

struct LoomFile {
  std::uint32_t file = 0;  // in the sources; 0 is the one the user named
  TomlValue root;
};

// Files in the order they are read: what a file includes stands before it, the one the user named is last. A file that
// is included twice is read once. Errors: too-large, empty, not-utf8, version, include-missing, include-circle,
// include-depth, include-path, too-many, and those of read_toml. Empty when nothing of the first file can be used.
[[nodiscard]] std::vector<LoomFile> read_loom_files(const std::string& path, const SourceReader& read,
                                                    text::Sources& sources, LoomReport& report);

}  // namespace halfsplit::formats
