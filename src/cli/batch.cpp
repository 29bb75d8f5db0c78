// SPDX-License-Identifier: Apache-2.0
#include "cli/batch.h"

#include <istream>
#include <ostream>
#include <string>

namespace halfsplit::cli {

int run_batch(app::Context& context, std::istream& in, std::ostream& out) {
  for (std::string line; std::getline(in, line);) {
    if (line.find_first_not_of(" \t\r") == std::string::npos) continue;
    if (!(out << app::to_json_text(app::run_json(context, line)) << "\n" << std::flush)) break;  // nobody hears it
  }
  return 0;
}

}  // namespace halfsplit::cli
