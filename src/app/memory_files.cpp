// SPDX-License-Identifier: Apache-2.0
#include "app/memory_files.h"

#include "base/bytes.h"

namespace halfsplit::app {

base::Result<std::string> MemoryFiles::read(const std::string& path, std::size_t limit_bytes) {
  if (!path.starts_with("mem:")) return beneath_.read(path, limit_bytes);
  const auto found = files_.find(path);
  if (found == files_.end())
    return base::make_error("file.missing", "there is no " + path, "open it first in this process");
  return found->second;
}

base::Result<std::unique_ptr<base::ByteSource>> MemoryFiles::open(const std::string& path) {
  if (!path.starts_with("mem:")) return beneath_.open(path);
  return base::open_text(read(path, std::string::npos));
}

base::Result<base::Done> MemoryFiles::write(const std::string& path, std::string_view text) {
  if (!path.starts_with("mem:")) return beneath_.write(path, text);
  files_[path] = std::string(text);
  return base::Done{};
}

base::Result<base::Done> MemoryFiles::replace(const std::string& path, std::string_view before, std::string_view text) {
  return path.starts_with("mem:") ? write(path, text) : beneath_.replace(path, before, text);
}

bool MemoryFiles::exists(const std::string& path) {
  return path.starts_with("mem:") ? files_.contains(path) : beneath_.exists(path);
}

}  // namespace halfsplit::app
