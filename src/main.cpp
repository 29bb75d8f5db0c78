// SPDX-License-Identifier: Apache-2.0
// Chooses the door: `serve` is the page's, everything else the command line's.
#include <memory>
#include <string_view>

#include "cli/command_line.h"
#include "http/serve.h"
#include "system/folder_book.h"

namespace {

std::unique_ptr<halfsplit::base::Files> make_files() {
  return std::make_unique<halfsplit::system::FolderBook>(halfsplit::system::find_book_folder());
}

}  // namespace

int main(int argc, char** argv) {
  using namespace halfsplit;
  if (argc > 1 && std::string_view(argv[1]) == "serve")
    return http::run_serve(argc, argv, make_files, http::page_files());
  return cli::run_command_line(argc, argv, {{"serve", "the page: in the browser, and on the phone with --lan"}});
}
