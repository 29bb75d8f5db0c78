// SPDX-License-Identifier: Apache-2.0
// The seams (seams.h) without an outside world, for tests and for a browser that keeps its own files: files in memory,
// a clock that stands until it is moved, progress that is remembered.
#pragma once

#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "base/bytes.h"
#include "base/seams.h"

namespace halfsplit::base {

class MemoryFiles final : public Files {
 public:
  [[nodiscard]] Result<std::string> read(const std::string& path, std::size_t limit_bytes) override {
    const auto found = files.find(path);
    if (found == files.end()) return make_error("file.missing", path + ": no such file");
    if (unreadable.contains(path)) return make_error("file.unreadable", path + ": cannot be read");
    if (found->second.size() > limit_bytes)
      return make_error("file.too-large", path + ": larger than " + std::to_string(limit_bytes) + " bytes");
    return found->second;
  }
  [[nodiscard]] Result<std::unique_ptr<ByteSource>> open(const std::string& path) override {
    return open_text(read(path, std::string::npos));
  }
  [[nodiscard]] Result<Done> write(const std::string& path, std::string_view text) override {
    if (unwritable.contains(path)) return make_error("file.unwritable", path + ": cannot be written");
    files[path] = std::string(text);
    ++writes;
    return Done{};
  }
  [[nodiscard]] bool exists(const std::string& path) override { return files.contains(path); }
  [[nodiscard]] std::vector<std::string> list(const std::string& folder) override {
    const std::string prefix = folder.empty() || folder == "." ? "" : folder + "/";
    std::vector<std::string> names;
    for (const auto& [path, text] : files)
      if (path.starts_with(prefix) && path.find('/', prefix.size()) == std::string::npos)
        names.push_back(path.substr(prefix.size()));
    return names;
  }

  std::map<std::string, std::string> files;  // path as given -> bytes
  std::set<std::string> unreadable, unwritable;
  int writes = 0;
};

class FixedClock final : public Clock {
 public:
  explicit FixedClock(std::int64_t now) : now_(now) {}
  [[nodiscard]] std::int64_t now_s() override { return now_; }
  void advance(std::int64_t seconds) { now_ += seconds; }

 private:
  std::int64_t now_;
};

class RememberedProgress final : public Progress {
 public:
  void report(std::string_view what, double fraction) override { steps.emplace_back(what, fraction); }
  std::vector<std::pair<std::string, double>> steps;
};

}  // namespace halfsplit::base
