// SPDX-License-Identifier: Apache-2.0
// Files whose paths begin with "mem:" live in memory, all others are passed on: so that an outside program can drive
// thousands of jobs in one process without touching the disk.
#pragma once

#include <map>
#include <string>

#include "base/seams.h"

namespace halfsplit::app {

class MemoryFiles final : public base::Files {
 public:
  explicit MemoryFiles(base::Files& beneath) : beneath_(beneath) {}
  base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override;
  base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  base::Result<base::Done> replace(const std::string& path, std::string_view before, std::string_view text) override;
  bool exists(const std::string& path) override;
  std::vector<std::string> list(const std::string& folder) override { return beneath_.list(folder); }

 private:
  base::Files& beneath_;
  std::map<std::string, std::string> files_;
};

}  // namespace halfsplit::app
