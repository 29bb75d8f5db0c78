// SPDX-License-Identifier: Apache-2.0
// Bytes that are in memory already, behind the seam of bytes that come one after the other; and one pair of hands.
#pragma once

#include <algorithm>
#include <cstring>
#include <string>
#include <utility>

#include "base/seams.h"

namespace halfsplit::base {

class StringBytes final : public ByteSource {
 public:
  explicit StringBytes(std::string bytes) : bytes_(std::move(bytes)) {}
  [[nodiscard]] std::size_t read(std::span<char> into) override {
    const std::size_t count = std::min(into.size(), bytes_.size() - taken_);
    if (count > 0) std::memcpy(into.data(), bytes_.data() + taken_, count);
    taken_ += count;
    return count;
  }
  [[nodiscard]] std::optional<std::uint64_t> size() const override { return bytes_.size(); }
  [[nodiscard]] std::uint64_t taken() const override { return taken_; }

 private:
  std::string bytes_;
  std::size_t taken_ = 0;
};

// A text that was read whole, as bytes; its errors stay errors.
[[nodiscard]] inline Result<std::unique_ptr<ByteSource>> open_text(Result<std::string> text) {
  if (!text.ok()) return text.diagnostics();
  return std::unique_ptr<ByteSource>(std::make_unique<StringBytes>(std::move(text).value()));
}

class OneWorker final : public Workers {
 public:
  [[nodiscard]] std::size_t hands() const override { return 1; }
  void run(std::size_t count, const std::function<void(std::size_t)>& task) override {
    for (std::size_t part = 0; part < count; ++part) task(part);
  }
};

}  // namespace halfsplit::base
