// SPDX-License-Identifier: Apache-2.0
#include "http/serve_options.h"

#include <CLI/CLI.hpp>
#include <iostream>
#include <string>

namespace halfsplit::http {

std::optional<ServeOptions> read_serve_options(int argc, char** argv, int& exit_code) {
  ServeOptions options;
  int port = kUsualPort;
  CLI::App program{"the page: jobs, drawing and keypad in the browser, with --lan on the phone too; no network needed"};
  program.name("halfsplit serve");
  CLI::Option* told = program.add_option(
      "--port", port,
      "listen at this port; " + std::to_string(kUsualPort) + ", or one of the next ten when it is taken");
  told->check(CLI::Range(0, 65535))->type_name("");
  program.add_flag("--lan", options.lan, "also for phones in the same network, paired by a QR code; unencrypted");
  program.add_flag("--no-browser", options.no_browser, "print the address, open nothing");
  program.footer("Example: halfsplit serve --lan\nWhat is protected and what is not: docs/serve.md");
  try {
    program.parse(argc - 1, argv + 1);
  } catch (const CLI::ParseError& error) {
    exit_code = error.get_exit_code() == 0 ? 0 : 2;
    (void)program.exit(error, exit_code == 0 ? std::cout : std::cerr, std::cerr);
    return std::nullopt;
  }
  if (told->count() > 0) options.port = port;
  return options;
}

}  // namespace halfsplit::http
