// SPDX-License-Identifier: Apache-2.0
// What may come next while a path is typed: hops, best first, each as the text to put behind what stands there. A guess
// rests on the paths typed before (the same way one cavity further), on the loom that is extended, and on what usually
// follows such a thing. Pure: the same text and loom give the same list.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "circuit/loom.h"

namespace halfsplit::formats {

struct PathGuess {
  std::string hop;      // "J5:3"
  std::string append;   // " -[YE 0.5mm2]-> J5:3": with the link when one is missing, from where the text ends
  std::string kind;     // as brackets say it: "plug"
  std::string because;  // in words
  double weight = 0.0;  // adds up to 1 over the list; an order, not a probability that was measured
};

// `text`: all paths so far; the last line is the one that goes on. `loom`: may be null. At most `most` guesses.
[[nodiscard]] std::vector<PathGuess> guess_path(std::string_view text, const circuit::Loom* loom, std::size_t most);

// A path usually ends at what it has come to (common practice): a frame, the battery, a sensor, or the module it came
// back to. Not one that only begins there. `text` as above.
[[nodiscard]] bool usually_ends(std::string_view text);

}  // namespace halfsplit::formats
