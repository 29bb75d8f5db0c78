// SPDX-License-Identifier: Apache-2.0
#include "capture/peeked_bytes.h"

#include <algorithm>
#include <cstring>
#include <utility>

namespace halfsplit::capture {

PeekedBytes::PeekedBytes(std::unique_ptr<base::ByteSource> beneath) : beneath_(std::move(beneath)) {}

std::string_view PeekedBytes::peek(std::size_t most) {
  std::size_t have = ahead_.size();
  if (have < most) ahead_.resize(most);
  while (have < most) {
    const std::size_t got = beneath_->read(std::span(ahead_).subspan(have));
    if (got == 0) break;
    have += got;
  }
  ahead_.resize(have);
  return std::string_view(ahead_).substr(0, most);
}

std::size_t PeekedBytes::read(std::span<char> into) {
  if (given_ == ahead_.size()) return beneath_->read(into);
  const std::size_t count = std::min(into.size(), ahead_.size() - given_);
  std::memcpy(into.data(), ahead_.data() + given_, count);
  given_ += count;
  if (given_ == ahead_.size()) {
    ahead_.clear();
    given_ = 0;
  }
  return count;
}

}  // namespace halfsplit::capture
