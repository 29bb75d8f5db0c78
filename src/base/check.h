// SPDX-License-Identifier: Apache-2.0
// HS_CHECK(condition, sentence): for what only a bug can cause. Throws Bug; the job boundary (app) turns it into exit
// code 5. Never used for anything a user, a file or a vehicle can cause.
#pragma once

#include <stdexcept>
#include <string>

namespace halfsplit::base {

class Bug : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

[[noreturn]] inline void fail_check(const char* file, int line, const std::string& sentence) {
  throw Bug(std::string(file) + ":" + std::to_string(line) + ": " + sentence);
}

}  // namespace halfsplit::base

#define HS_CHECK(condition, sentence)                                                \
  do {                                                                               \
    if (!(condition)) ::halfsplit::base::fail_check(__FILE__, __LINE__, (sentence)); \
  } while (false)
