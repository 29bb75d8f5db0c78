// SPDX-License-Identifier: Apache-2.0
// The file is opened under a name nobody else has and unlinked at once, so that a crash leaves nothing.
#include "http/spool.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdlib>
#include <system_error>
#include <vector>

namespace halfsplit::http {

namespace {

std::atomic<int> spools_there{0};  // guards the disk against many at once; no result depends on it

// As many bytes as there are from `from` on, fewer when reading fails.
ssize_t read_at(int descriptor, std::span<char> into, std::size_t from) {
  ssize_t got = -1;
  do got = ::pread(descriptor, into.data(), into.size(), static_cast<off_t>(from));
  while (got < 0 && errno == EINTR);
  return got;
}

base::Diagnostic unreadable(int error) {
  return base::make_error("file.unreadable",
                          "what was sent cannot be read back: " + std::system_category().message(error),
                          "send it again");
}

class SpoolBytes final : public base::ByteSource {
 public:
  SpoolBytes(std::shared_ptr<Spool> spool, int descriptor) : spool_(std::move(spool)), descriptor_(descriptor) {}
  [[nodiscard]] std::size_t read(std::span<char> into) override {
    const ssize_t got = read_at(descriptor_, into, taken_);
    if (got < 0) error_ = errno;
    if (got <= 0) return 0;
    taken_ += static_cast<std::size_t>(got);
    return static_cast<std::size_t>(got);
  }
  [[nodiscard]] std::optional<base::Diagnostic> problem() const override {
    return error_ == 0 ? std::nullopt : std::optional(unreadable(error_));
  }
  [[nodiscard]] std::optional<std::uint64_t> size() const override { return spool_->size(); }
  [[nodiscard]] std::uint64_t taken() const override { return taken_; }

 private:
  std::shared_ptr<Spool> spool_;
  int descriptor_;
  int error_ = 0;
  std::size_t taken_ = 0;
};

}  // namespace

std::shared_ptr<Spool> Spool::make(const std::string& folder) {
  if (spools_there.fetch_add(1) >= kMostSpools) {
    spools_there.fetch_sub(1);
    return nullptr;
  }
  std::string name = folder + "/.incoming-XXXXXX";
  const int descriptor = ::mkostemp(name.data(), O_CLOEXEC);  // 0600
  if (descriptor < 0) {
    spools_there.fetch_sub(1);
    return nullptr;
  }
  ::unlink(name.c_str());
  return std::shared_ptr<Spool>(new Spool(descriptor));
}

Spool::~Spool() {
  ::close(descriptor_);
  spools_there.fetch_sub(1);
}

bool Spool::append(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t done = ::write(descriptor_, bytes.data(), bytes.size());
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(done));
    size_ += static_cast<std::size_t>(done);
  }
  return true;
}

std::unique_ptr<base::ByteSource> Spool::open() {
  return std::make_unique<SpoolBytes>(shared_from_this(), descriptor_);
}

base::Result<std::string> Spool::read(std::size_t limit_bytes) {
  if (size_ > limit_bytes)
    return base::make_error("file.too-large", "larger than " + std::to_string(limit_bytes) + " bytes");
  std::string text(size_, '\0');
  for (std::size_t at = 0; at < size_;) {
    const ssize_t got = read_at(descriptor_, std::span(text).subspan(at), at);
    if (got <= 0) return unreadable(got < 0 ? errno : EIO);
    at += static_cast<std::size_t>(got);
  }
  return text;
}

}  // namespace halfsplit::http
