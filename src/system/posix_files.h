// SPDX-License-Identifier: Apache-2.0
// base::Files on a POSIX system. A write never leaves half a file: the text goes to a new file in the same folder, is
// flushed to disk, takes the old one's permissions and name, and the folder is flushed. A symbolic link stays one: what
// it points to is replaced. May be used from several threads.
#pragma once

#include <utility>

#include "base/cancel.h"
#include "base/seams.h"

namespace halfsplit::system {

class PosixFiles final : public base::Files {
 public:
  // From here on open("-") reads standard input; before, "-" is a file of that name. It ends where `cancel` is set,
  // even while whoever should write says nothing.
  void offer_standard_input(base::CancelToken cancel = {}) { standard_input_ = std::move(cancel); }

  // Errors: file.missing, file.unreadable, file.too-large. A folder is file.unreadable.
  [[nodiscard]] base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override;
  [[nodiscard]] base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  // Errors: file.unwritable. The old file is then as it was.
  [[nodiscard]] base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  // The old file is locked from the look at it until the new one has its name; waits some seconds for that lock.
  // Errors: file.changed, file.busy, and those of read() and write().
  [[nodiscard]] base::Result<base::Done> replace(const std::string& path, std::string_view before,
                                                 std::string_view text) override;
  [[nodiscard]] bool exists(const std::string& path) override;
  [[nodiscard]] std::vector<std::string> list(const std::string& folder) override;

 private:
  std::optional<base::CancelToken> standard_input_;
};

}  // namespace halfsplit::system
