// SPDX-License-Identifier: Apache-2.0
// Text read piece by piece, each of whole lines, so that pieces can be read side by side. What stands behind the last
// line end of a piece begins the next one.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/seams.h"

namespace halfsplit::capture {

constexpr std::size_t kPieceBytes = 128 * 1024;

struct TextPiece {
  std::vector<char> room;
  std::string_view text;  // whole lines, the last one ending with a '\n'
  bool cut = false;       // that '\n' is ours: the file ends without one
};

class TextPieces {
 public:
  // False: there is nothing left. A line longer than a piece is its beginning only.
  bool fetch(base::ByteSource& bytes, TextPiece& piece);

 private:
  std::string ahead_;  // the beginning of the next piece
  bool over_ = false;
  bool inside_long_line_ = false;  // the end of a line longer than a piece is still to come, and is thrown away
};

}  // namespace halfsplit::capture
