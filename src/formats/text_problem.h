// SPDX-License-Identifier: Apache-2.0
// What is wrong with a piece of text, before it is known which file it stands in. Offsets count bytes in that text.
#pragma once

#include <cstddef>
#include <string>

namespace halfsplit::formats {

struct TextProblem {
  std::string code;  // without its room: "unknown-point"; the reader puts "loom." before it
  std::string message;
  std::string hint;
  std::size_t offset = 0;
  std::size_t length = 1;
};

}  // namespace halfsplit::formats
