// SPDX-License-Identifier: Apache-2.0
// The files that the page may reach: "book:", "shelf:" and "profile:" with a plain name behind them; to read only,
// "recording:" with hex digits behind it. Every other path is refused with file.outside, read or written, however it is
// written. A write that succeeded is told to `on_write`, unless it is the text last read from there: that is no news,
// and two screens that each ask for the next test would wake each other for ever. For one thread.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>

#include "base/seams.h"
#include "http/spool.h"

namespace halfsplit::http {

// What came with the request itself, a photo or a recording: may be read, in that request only.
constexpr std::string_view kUploadPath = "upload:photo";
constexpr std::string_view kUploadedRecording = "upload:recording";

[[nodiscard]] bool is_page_path(std::string_view path);
[[nodiscard]] bool is_page_recording(std::string_view path);

class GuardedFiles final : public base::Files {
 public:
  // `also_readable`: one path of our own choice that may be read, the user's own meter; empty: none.
  GuardedFiles(base::Files& beneath, std::string also_readable, std::function<void(const std::string&)> on_write)
      : beneath_(beneath), also_readable_(std::move(also_readable)), on_write_(std::move(on_write)) {}

  // Stays the caller's; none: nothing came. An empty one is none.
  void set_upload(const std::string* bytes) { upload_ = bytes; }
  void set_spool(std::shared_ptr<Spool> spool) { spool_ = std::move(spool); }

  [[nodiscard]] std::size_t writes() const { return writes_; }  // that succeeded, so far

  [[nodiscard]] base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  [[nodiscard]] base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override;
  [[nodiscard]] base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  [[nodiscard]] bool exists(const std::string& path) override;
  [[nodiscard]] std::vector<std::string> list(const std::string& folder) override;

 private:
  [[nodiscard]] bool may_read(const std::string& path) const;
  void remember(const std::string& path, std::string_view text);

  base::Files& beneath_;
  std::string also_readable_;
  const std::string* upload_ = nullptr;
  std::shared_ptr<Spool> spool_;
  std::size_t writes_ = 0;
  std::function<void(const std::string&)> on_write_;
  std::map<std::string, std::string> seen_;  // jobs, as last read or written
};

}  // namespace halfsplit::http
