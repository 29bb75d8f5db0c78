// SPDX-License-Identifier: Apache-2.0
// The command line as a thin door: arguments in, an operation run, text or JSON out. Notes and errors go to standard
// error, results to standard output. Exit codes: 0 done, 2 usage, 3 input, 4 could not solve, 5 our bug.
#pragma once

namespace halfsplit::cli {

[[nodiscard]] int run_command_line(int argc, char** argv);

}  // namespace halfsplit::cli
