// SPDX-License-Identifier: Apache-2.0
// `halfsplit serve`: the page for the browser at this machine and, with --lan, for a phone. Runs until Ctrl-C. Exit
// codes as at the command line: 0 done, 2 usage, 3 no address to listen at.
#pragma once

#include <vector>

#include "http/page.h"

namespace halfsplit::http {

[[nodiscard]] int run_serve(int argc, char** argv, const std::vector<PageFile>& page);

}  // namespace halfsplit::http
