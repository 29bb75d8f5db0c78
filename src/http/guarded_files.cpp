// SPDX-License-Identifier: Apache-2.0
#include "http/guarded_files.h"

#include <algorithm>

#include "base/bytes.h"

namespace halfsplit::http {

namespace {

constexpr std::size_t kMostName = 200;  // bytes
constexpr std::size_t kMostSeen = 8;

base::Diagnostic outside(const std::string& path) {
  return base::make_error(
      "file.outside", "the page reaches no file of this machine: " + path.substr(0, kMostName),
      "name a job (book:7), a drawing (shelf:NAME), a recording of a job (recording:SHA256) or profile:");
}

bool is_plain_name(std::string_view name) {
  if (name.size() > kMostName || name.starts_with('.')) return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= 0x20 && byte != 0x7F && c != '/' && c != '\\' && c != ':';
  });
}

}  // namespace

bool is_page_path(std::string_view path) {
  for (const std::string_view scheme : {"book:", "shelf:", "profile:"})
    if (path.starts_with(scheme)) return is_plain_name(path.substr(scheme.size()));
  return false;
}

bool is_page_recording(std::string_view path) {
  constexpr std::string_view kScheme = "recording:";
  return path.starts_with(kScheme) && path.substr(kScheme.size()).find_first_not_of("0123456789abcdef") == path.npos;
}

bool GuardedFiles::may_read(const std::string& path) const {
  return is_page_path(path) || is_page_recording(path) || (!also_readable_.empty() && path == also_readable_);
}

base::Result<std::string> GuardedFiles::read(const std::string& path, std::size_t limit_bytes) {
  if (path == kUploadPath && upload_ != nullptr && !upload_->empty()) {
    if (upload_->size() <= limit_bytes) return *upload_;
    return base::make_error("file.too-large", "larger than " + std::to_string(limit_bytes) + " bytes");
  }
  if (path == kUploadedRecording && spool_ != nullptr) return spool_->read(limit_bytes);
  if (!may_read(path)) return outside(path);
  base::Result<std::string> text = beneath_.read(path, limit_bytes);
  if (text.ok()) remember(path, *text);
  return text;
}

base::Result<std::unique_ptr<base::ByteSource>> GuardedFiles::open(const std::string& path) {
  if (path == kUploadPath) return base::open_text(read(path, std::string::npos));
  if (path == kUploadedRecording && spool_ != nullptr) return spool_->open();
  if (!may_read(path)) return outside(path);
  return beneath_.open(path);
}

void GuardedFiles::remember(const std::string& path, std::string_view text) {
  if (!path.starts_with("book:")) return;
  if (seen_.size() >= kMostSeen) seen_.clear();
  seen_[path] = text;
}

base::Result<base::Done> GuardedFiles::write(const std::string& path, std::string_view text) {
  if (!is_page_path(path)) return outside(path);
  base::Result<base::Done> done = beneath_.write(path, text);
  if (done.ok()) ++writes_;
  const auto known = seen_.find(path);
  const bool news = known == seen_.end() || known->second != text;
  if (done.ok() && news) remember(path, text);
  if (done.ok() && news && on_write_) on_write_(path);
  return done;
}

bool GuardedFiles::exists(const std::string& path) { return may_read(path) && beneath_.exists(path); }

std::vector<std::string> GuardedFiles::list(const std::string& folder) {
  return is_page_path(folder) ? beneath_.list(folder) : std::vector<std::string>{};
}

}  // namespace halfsplit::http
