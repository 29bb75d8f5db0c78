// SPDX-License-Identifier: Apache-2.0
// The body of one long request, on disk as it comes in: a file without a name in a folder of ours, gone with this
// object or with the process. Filled by one thread, then read by one.
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

#include "base/seams.h"

namespace halfsplit::http {

class Spool : public std::enable_shared_from_this<Spool> {
 public:
  // None: no file can be made in that folder, or kMostSpools are there already.
  [[nodiscard]] static std::shared_ptr<Spool> make(const std::string& folder);
  ~Spool();
  Spool(const Spool&) = delete;
  Spool& operator=(const Spool&) = delete;

  // False: the disk takes no more.
  [[nodiscard]] bool append(std::string_view bytes);
  [[nodiscard]] std::size_t size() const { return size_; }
  // From its beginning; keeps this object alive.
  [[nodiscard]] std::unique_ptr<base::ByteSource> open();
  // The whole of it. Errors: file.too-large, file.unreadable.
  [[nodiscard]] base::Result<std::string> read(std::size_t limit_bytes);

  static constexpr int kMostSpools = 4;  // in the process

 private:
  explicit Spool(int descriptor) : descriptor_(descriptor) {}

  int descriptor_;
  std::size_t size_ = 0;
};

}  // namespace halfsplit::http
