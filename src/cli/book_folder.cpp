// SPDX-License-Identifier: Apache-2.0
#include "cli/book_folder.h"

#include <cstdlib>
#include <filesystem>

namespace halfsplit::cli {

namespace {

std::string of_environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? "" : value;
}

}  // namespace

std::string book_folder() {
  if (std::string named = of_environment("HALFSPLIT_BOOK"); !named.empty()) return named;
  const std::string data = of_environment("XDG_DATA_HOME"), home = of_environment("HOME");
  if (data.starts_with('/')) return data + "/halfsplit";  // a relative one is to be ignored
  return home.empty() ? "" : home + "/.local/share/halfsplit";
}

void make_book_folder() {
  std::error_code ignored;
  std::filesystem::create_directories(book_folder(), ignored);
}

}  // namespace halfsplit::cli
