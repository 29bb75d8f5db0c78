// SPDX-License-Identifier: Apache-2.0
// A byte source whose beginning can be looked at before it is read.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "base/seams.h"

namespace halfsplit::capture {

class PeekedBytes final : public base::ByteSource {
 public:
  explicit PeekedBytes(std::unique_ptr<base::ByteSource> beneath);

  // The first `most` bytes, fewer when there are no more; before anything was read.
  [[nodiscard]] std::string_view peek(std::size_t most);

  [[nodiscard]] std::size_t read(std::span<char> into) override;
  [[nodiscard]] std::optional<base::Diagnostic> problem() const override { return beneath_->problem(); }
  [[nodiscard]] std::optional<std::uint64_t> size() const override { return beneath_->size(); }
  [[nodiscard]] std::uint64_t taken() const override { return beneath_->taken(); }

 private:
  std::unique_ptr<base::ByteSource> beneath_;
  std::string ahead_;
  std::size_t given_ = 0;  // of ahead_
};

}  // namespace halfsplit::capture
