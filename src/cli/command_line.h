// SPDX-License-Identifier: Apache-2.0
// The command line as a thin door: arguments in, an operation run, text or JSON out. Notes and errors go to standard
// error, results to standard output. Exit codes: 0 done, 2 usage, 3 input, 4 could not solve, 5 our bug.
#pragma once

#include <string>
#include <vector>

namespace halfsplit::cli {

// A command that another door answers; here it only stands in the help.
struct OtherCommand {
  std::string name, summary;
};

[[nodiscard]] int run_command_line(int argc, char** argv, const std::vector<OtherCommand>& others);

}  // namespace halfsplit::cli
