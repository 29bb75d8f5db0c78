// SPDX-License-Identifier: Apache-2.0
// Where the user keeps a meter of their own for new jobs: the file named by HALFSPLIT_METER (empty: none), else
// halfsplit/default.meter.toml in XDG_CONFIG_HOME or ~/.config (XDG Base Directory Specification, from memory).
#pragma once

#include <string>

#include "base/seams.h"

namespace halfsplit::system {

// Empty: none. A file named by HALFSPLIT_METER is given back whether it is there or not.
[[nodiscard]] std::string find_own_meter(base::Files& files);

}  // namespace halfsplit::system
