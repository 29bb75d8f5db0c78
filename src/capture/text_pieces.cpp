// SPDX-License-Identifier: Apache-2.0
#include "capture/text_pieces.h"

#include <cstring>
#include <span>

namespace halfsplit::capture {

namespace {

// Behind the last '\n', counted from the front; 0: there is none.
std::size_t end_of_lines(const std::vector<char>& text, std::size_t used) {
  while (used > 0 && text[used - 1] != '\n') --used;
  return used;
}

// Takes away what stands ahead of the first line end, and that too; false: there is none.
bool drop_line(std::vector<char>& text, std::size_t& used) {
  const auto* end = static_cast<const char*>(std::memchr(text.data(), '\n', used));
  const std::size_t gone = end == nullptr ? used : static_cast<std::size_t>(end - text.data()) + 1;
  std::memmove(text.data(), text.data() + gone, used - gone);
  used -= gone;
  return end != nullptr;
}

}  // namespace

bool TextPieces::fetch(base::ByteSource& bytes, TextPiece& piece) {
  if (over_) return false;
  std::vector<char>& text = piece.room;
  text.resize(kPieceBytes + 1);  // one more for a line end of ours
  std::size_t used = ahead_.copy(text.data(), ahead_.size());
  while (used < kPieceBytes) {
    const std::size_t got = bytes.read(std::span(text).subspan(used, kPieceBytes - used));
    over_ = got == 0;
    if (over_) break;
    used += got;
    if (inside_long_line_) inside_long_line_ = !drop_line(text, used);
  }
  std::size_t end = end_of_lines(text, used);
  piece.cut = over_ && end < used;
  const bool too_long = !over_ && end == 0;
  if (piece.cut || too_long) {
    text[used++] = '\n';
    end = used;
  }
  inside_long_line_ = inside_long_line_ || too_long;
  ahead_.assign(text.data() + end, used - end);
  piece.text = {text.data(), end};
  return true;
}

}  // namespace halfsplit::capture
