// SPDX-License-Identifier: Apache-2.0
// The text of a run, taken apart: "BCM.A:14 -[YE 0.5mm2 2.1m]-> J4:12 -> SPREADER:3". Only the form is looked at;
// what the names mean is for the reader of the loom.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "formats/text_problem.h"

namespace halfsplit::formats {

// One attribute of a link. `key` is empty for those that say themselves what they are (a colour, 2.1m).
struct RunAttribute {
  std::string key;
  std::string value;
  std::size_t offset = 0, length = 0;  // of the whole attribute
  std::size_t value_at = 0;
};

struct RunLink {
  std::vector<RunAttribute> attributes;
  std::size_t offset = 0, length = 0;  // from the '-' to the '>'
};

struct RunHop {
  std::string text;  // without blanks around it
  std::size_t offset = 0;
};

struct RunText {
  std::vector<RunHop> hops;  // one more than links, when there are no problems
  std::vector<RunLink> links;
  std::vector<TextProblem> problems;  // bad-run, bad-attribute
};

// Grammar (docs/formats/loom.md, [runs]):
//   run       = hop { link hop }           at least one link
//   link      = "->" | "-[" { attribute } "]->"
//   attribute = word | key "=" word | key "='" text "'"     separated by blanks
[[nodiscard]] RunText parse_run(std::string_view text);

}  // namespace halfsplit::formats
