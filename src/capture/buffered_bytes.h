// SPDX-License-Identifier: Apache-2.0
// A byte source read in large pieces, so that small records can be looked at in place.
#pragma once

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "base/seams.h"

namespace halfsplit::capture {

class BufferedBytes {
 public:
  explicit BufferedBytes(std::unique_ptr<base::ByteSource> beneath) : beneath_(std::move(beneath)) {}

  // The next `count` bytes, not yet passed; fewer: the source ends before. Valid until the next call.
  [[nodiscard]] std::span<const std::uint8_t> look(std::size_t count) {
    if (end_ - begin_ < count) refill(count);
    return {buffer_.data() + begin_, std::min(count, end_ - begin_)};
  }
  // `count` bytes that look() showed.
  void pass(std::size_t count) {
    begin_ += count;
    passed_ += count;
  }
  // Bytes that nobody wants to see. False: the source ends before.
  [[nodiscard]] bool skip(std::size_t count) {
    while (count > 0) {
      const std::size_t here = look(std::min(count, kPiece)).size();
      if (here == 0) return false;
      pass(here);
      count -= here;
    }
    return true;
  }
  [[nodiscard]] std::uint64_t passed() const { return passed_; }
  [[nodiscard]] const base::ByteSource& beneath() const { return *beneath_; }

 private:
  static constexpr std::size_t kPiece = 256 * 1024;

  void refill(std::size_t count) {
    const std::size_t here = end_ - begin_;
    if (here > 0) std::memmove(buffer_.data(), buffer_.data() + begin_, here);
    begin_ = 0;
    end_ = here;
    if (buffer_.size() < std::max(count, kPiece)) buffer_.resize(std::max(count, kPiece));
    while (end_ < count) {
      const std::span<std::uint8_t> room = std::span(buffer_).subspan(end_);
      const std::size_t got = beneath_->read({reinterpret_cast<char*>(room.data()), room.size()});
      if (got == 0) return;
      end_ += got;
    }
  }

  std::unique_ptr<base::ByteSource> beneath_;
  std::vector<std::uint8_t> buffer_;
  std::size_t begin_ = 0, end_ = 0;
  std::uint64_t passed_ = 0;
};

}  // namespace halfsplit::capture
