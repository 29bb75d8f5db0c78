// SPDX-License-Identifier: Apache-2.0
// Reads and writes the profile (docs/formats/profile.md): TOML 1.0, version 1, UTF-8, profile.toml in the book's
// folder. No I/O. All errors come together, each with its place, a stable code "profile.*" and a hint; either a whole
// profile or errors.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.h"
#include "job/profile.h"

namespace halfsplit::formats {

inline constexpr int kProfileVersion = 1;
inline constexpr std::size_t kMostProfileBytes = std::size_t{1} << 20U;  // above it: profile.too-large

// `name` stands for the file in diagnostics.
[[nodiscard]] base::Result<job::Profile> read_profile_text(const std::string& name, std::string_view text);
// Reading it back gives an equal profile. Errors: those of the reader, for values it would refuse.
[[nodiscard]] base::Result<std::string> write_profile_text(const job::Profile& profile);

}  // namespace halfsplit::formats
