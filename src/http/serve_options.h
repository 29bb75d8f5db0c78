// SPDX-License-Identifier: Apache-2.0
// The command line of `halfsplit serve`.
#pragma once

#include <optional>

namespace halfsplit::http {

constexpr int kUsualPort = 8471;

struct ServeOptions {
  std::optional<int> port;  // none: the usual one, or one of the next when it is taken
  bool lan = false;
  bool no_browser = false;
};

// argv[1] is "serve". None: help was printed or the words were wrong; `exit_code` says which.
[[nodiscard]] std::optional<ServeOptions> read_serve_options(int argc, char** argv, int& exit_code);

}  // namespace halfsplit::http
