// SPDX-License-Identifier: Apache-2.0
// Text read block by block, each cut into chunks of whole lines, so that chunks can be read side by side. What stands
// behind the last line end of a block begins the next one.
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

#include "base/seams.h"

namespace halfsplit::capture {

constexpr std::size_t kBlockBytes = 512 * 1024;
constexpr std::size_t kChunkBytes = 64 * 1024;

class TextBlock {
 public:
  // Reads on behind `before` (the block ahead in the file; none: this is the first). False: there is nothing left.
  bool fill(base::ByteSource& bytes, const TextBlock* before);
  // Whole lines, each chunk ending with a '\n'.
  [[nodiscard]] const std::vector<std::string_view>& chunks() const { return chunks_; }
  [[nodiscard]] bool last() const { return last_; }
  // The '\n' at the end of the last chunk is ours: the file ends without one.
  [[nodiscard]] bool cut() const { return cut_; }

 private:
  void cut_chunks(std::size_t length);

  std::vector<char> text_;
  std::size_t used_ = 0, lines_end_ = 0;
  std::vector<std::string_view> chunks_;
  bool last_ = false, cut_ = false;
  bool inside_long_line_ = false;  // the end of a line longer than a block is still to come, and is thrown away
};

}  // namespace halfsplit::capture
