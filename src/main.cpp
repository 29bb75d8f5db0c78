// SPDX-License-Identifier: Apache-2.0
// Chooses the door: `serve` is the page's, everything else the command line's.
#include <string_view>

#include "cli/command_line.h"
#include "http/serve.h"

int main(int argc, char** argv) {
  using namespace halfsplit;
  if (argc > 1 && std::string_view(argv[1]) == "serve") return http::run_serve(argc, argv, http::page_files());
  return cli::run_command_line(argc, argv, {{"serve", "the page: in the browser, and on the phone with --lan"}});
}
