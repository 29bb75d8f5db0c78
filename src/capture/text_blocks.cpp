// SPDX-License-Identifier: Apache-2.0
#include "capture/text_blocks.h"

#include <algorithm>
#include <cstring>

namespace halfsplit::capture {

namespace {

// Behind the last '\n', counted from the front; 0: there is none.
std::size_t end_of_lines(const std::vector<char>& text, std::size_t used) {
  while (used > 0 && text[used - 1] != '\n') --used;
  return used;
}

}  // namespace

bool TextBlock::fill(base::ByteSource& bytes, const TextBlock* before) {
  text_.resize(kBlockBytes + 1);  // one more for a line end of ours
  chunks_.clear();
  used_ = lines_end_ = 0;
  last_ = cut_ = inside_long_line_ = false;
  bool skipping = false;
  if (before != nullptr) {
    if (before->last_) return false;
    skipping = before->inside_long_line_;
    used_ = before->used_ - before->lines_end_;
    std::memcpy(text_.data(), before->text_.data() + before->lines_end_, used_);
  }
  while (used_ < kBlockBytes) {
    const std::size_t got = bytes.read(std::span(text_).subspan(used_, kBlockBytes - used_));
    last_ = got == 0;
    if (last_) break;
    used_ += got;
    if (!skipping) continue;
    const auto* end = static_cast<const char*>(std::memchr(text_.data(), '\n', used_));
    const std::size_t gone = end == nullptr ? used_ : static_cast<std::size_t>(end - text_.data()) + 1;
    std::memmove(text_.data(), text_.data() + gone, used_ - gone);
    used_ -= gone;
    skipping = end == nullptr;
  }
  lines_end_ = end_of_lines(text_, used_);
  cut_ = last_ && lines_end_ < used_;
  inside_long_line_ = !last_ && lines_end_ == 0;
  if (cut_ || inside_long_line_) {
    text_[used_++] = '\n';
    lines_end_ = used_;
  }
  cut_chunks(lines_end_);
  return true;
}

void TextBlock::cut_chunks(std::size_t length) {
  std::size_t begin = 0;
  while (begin < length) {
    std::size_t end = length;
    if (length - begin > kChunkBytes) {
      const char* from = text_.data() + begin + kChunkBytes;
      const auto* line_end = static_cast<const char*>(std::memchr(from, '\n', length - begin - kChunkBytes));
      end = static_cast<std::size_t>(line_end - text_.data()) + 1;
    }
    chunks_.emplace_back(text_.data() + begin, end - begin);
    begin = end;
  }
}

}  // namespace halfsplit::capture
