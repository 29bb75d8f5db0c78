// SPDX-License-Identifier: Apache-2.0
// Everything the outside world does for us, as interfaces: files, the clock, progress, somebody to ask. The core never
// touches these; the app room receives them in its Context; main.cpp and the tests supply them.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace halfsplit::base {

class Files {
 public:
  virtual ~Files() = default;
  // Whole file as bytes. Errors: file.missing, file.unreadable, file.too-large (above limit_bytes).
  [[nodiscard]] virtual Result<std::string> read(const std::string& path, std::size_t limit_bytes) = 0;
  // Atomic and crash-safe: a new file beside the old one, flushed to disk, then renamed over it. Errors:
  // file.unwritable.
  [[nodiscard]] virtual Result<Done> write(const std::string& path, std::string_view text) = 0;
  [[nodiscard]] virtual bool exists(const std::string& path) = 0;
  // Names (not paths) in a folder, sorted; empty when there is no such folder.
  [[nodiscard]] virtual std::vector<std::string> list(const std::string& folder) = 0;
};

class Clock {
 public:
  virtual ~Clock() = default;
  // Seconds since 1970-01-01 UTC.
  [[nodiscard]] virtual std::int64_t now_s() = 0;
};

class Progress {
 public:
  virtual ~Progress() = default;
  virtual void report(std::string_view what, double fraction) = 0;
};

// Somebody at the keyboard who can be asked; a door without one leaves the seam empty.
class Questions {
 public:
  virtual ~Questions() = default;
  // One line, trimmed; `fallback` when the line is empty; none: nobody answers any more.
  [[nodiscard]] virtual std::optional<std::string> ask(std::string_view question, std::string_view fallback) = 0;
  virtual void say(std::string_view text) = 0;
};

}  // namespace halfsplit::base
