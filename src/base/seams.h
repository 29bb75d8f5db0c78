// SPDX-License-Identifier: Apache-2.0
// Everything the outside world does for us, as interfaces: files, the clock, progress, somebody to ask. The core never
// touches these; the app room receives them in its Context; main.cpp and the tests supply them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace halfsplit::base {

// Bytes that come one after the other: a file too long to hold, a pipe, what a compressed file holds. For one thread at
// a time.
class ByteSource {
 public:
  virtual ~ByteSource() = default;
  // Fills `into` from the front and returns how many, perhaps fewer than fit; 0: there are no more, of which problem()
  // may say why.
  [[nodiscard]] virtual std::size_t read(std::span<char> into) = 0;
  // Why the bytes ended before their time: file.unreadable, capture.truncated...
  [[nodiscard]] virtual std::optional<Diagnostic> problem() const { return std::nullopt; }
  // Bytes in all, where that is known before; for progress only.
  [[nodiscard]] virtual std::optional<std::uint64_t> size() const { return std::nullopt; }
  // Bytes taken so far of what size() counts: of a compressed file its compressed bytes.
  [[nodiscard]] virtual std::uint64_t taken() const = 0;
};

class Files {
 public:
  virtual ~Files() = default;
  // Whole file as bytes. Errors: file.missing, file.unreadable, file.too-large (above limit_bytes).
  [[nodiscard]] virtual Result<std::string> read(const std::string& path, std::size_t limit_bytes) = 0;
  // To read it bit by bit; "-" is standard input where the door has one. Errors: file.missing, file.unreadable.
  [[nodiscard]] virtual Result<std::unique_ptr<ByteSource>> open(const std::string& path) = 0;
  // Atomic and crash-safe: a new file beside the old one, flushed to disk, then renamed over it. Errors:
  // file.unwritable.
  [[nodiscard]] virtual Result<Done> write(const std::string& path, std::string_view text) = 0;
  // As write(), when the file still holds `before`, and nobody else of ours can write it in between; else nothing is
  // written. Files that nobody else has, or that look for themselves, just write. Errors: file.changed, and those of
  // write().
  [[nodiscard]] virtual Result<Done> replace(const std::string& path, std::string_view /*before*/,
                                             std::string_view text) {
    return write(path, text);
  }
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

// Work that goes through three hands piece by piece: fetched in order, worked side by side, handed on in order. Pieces
// lie in places 0 to `places` - 1, each used again when its piece was handed on. Calls of fetch never overlap, nor do
// those of hand_on, whichever thread makes them; what one call wrote the next one sees.
struct Relay {
  std::size_t places = 1;
  std::function<bool(std::size_t place)> fetch;  // false: there are no more pieces, and it is not asked again
  std::function<void(std::size_t place)> work;
  std::function<bool(std::size_t place)> hand_on;  // false: no more are wanted
};

// Hands for work that falls into independent parts. Results must be the same with one.
class Workers {
 public:
  virtual ~Workers() = default;
  [[nodiscard]] virtual std::size_t hands() const = 0;  // parts that are worked at once, at least 1
  // task(0) .. task(count - 1), begun in that order, side by side as far as there are hands; returns when all are done.
  // What a task throws is thrown here, of several that of the first part. A task calls no run() of the same workers.
  virtual void run(std::size_t count, const std::function<void(std::size_t)>& task) = 0;
  // Returns when all pieces are handed on, or no more are wanted. What a call throws is thrown here, of several that of
  // the first piece. As for run(): no call may ask the same workers.
  virtual void relay(const Relay& pieces) {
    while (pieces.fetch(0)) {
      pieces.work(0);
      if (!pieces.hand_on(0)) return;
    }
  }
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
