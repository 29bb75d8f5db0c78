// SPDX-License-Identifier: Apache-2.0
// The write: new file beside the old one, all bytes, fsync, permissions and owner of the old one, rename, fsync of the
// folder. rename() replaces a name in one step (POSIX.1-2017), so a reader or a crash meets the old file or the new
// one. The new file is locked while it is written; one that nobody holds was left by a crash and is taken away by the
// next write of the same file. Not kept: hard links, access lists, extended attributes.
#include "system/posix_files.h"

#include <dirent.h>
#include <fcntl.h>
#include <poll.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <optional>
#include <system_error>
#include <utility>

#include "base/nearest.h"

namespace halfsplit::system {

namespace {

using base::Diagnostic;
using base::Done;
using base::Result;

constexpr int kMostLinks = 40;           // of one path, as Linux counts
constexpr std::size_t kNameShare = 100;  // bytes of the old name that a new file's name repeats; a name has 255 at most
constexpr int kSilenceMs = 100;          // how long standard input may say nothing before cancel is looked at
constexpr int kMostWaitMs = 5000;        // for a file that another process is writing
constexpr int kLookAgainMs = 5;
constexpr int kMostNames = 100;  // names tried for the new file

std::string reason(int error) { return std::system_category().message(error); }

Diagnostic unwritable(const std::string& path, const std::string& what, std::string hint = "") {
  return base::make_error("file.unwritable", path + ": " + what, std::move(hint));
}

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.find_last_of('/');
  if (slash == std::string::npos) return ".";
  return slash == 0 ? "/" : path.substr(0, slash);
}

std::string name_of(const std::string& path) { return path.substr(path.find_last_of('/') + 1); }

// Calls again when a signal came between.
template <class Call>
auto persist(Call call) {
  auto value = call();
  while (value < 0 && errno == EINTR) value = call();
  return value;
}

class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  [[nodiscard]] bool open() const { return number_ >= 0; }
  [[nodiscard]] int get() const { return number_; }

 private:
  int number_ = -1;
};

Descriptor open_file(const std::string& path, int flags, mode_t mode = 0) {
  return Descriptor(persist([&] { return ::open(path.c_str(), flags | O_CLOEXEC, mode); }));
}

// --- reading -------------------------------------------------------------------------------------------------------

Diagnostic too_large(const std::string& path, std::size_t limit) {
  return base::make_error("file.too-large", path + ": larger than the " + std::to_string(limit) + " bytes allowed here",
                          "is this the right file?");
}

Diagnostic cannot_open(PosixFiles& files, const std::string& path, int error) {
  if (error != ENOENT && error != ENOTDIR) return base::make_error("file.unreadable", path + ": " + reason(error));
  std::string hint = base::did_you_mean(name_of(path), files.list(folder_of(path)));
  if (hint.empty()) hint = "check the path; it is seen from the folder the program was started in";
  return base::make_error("file.missing", path + ": " + reason(error), std::move(hint));
}

Result<std::string> read_all(const Descriptor& file, const std::string& path, std::size_t limit, std::size_t expected) {
  const std::size_t most = limit == std::string::npos ? limit : limit + 1;
  std::string text(std::min(expected + 1, most), '\0');  // one more, to meet the end without growing
  std::size_t length = 0;
  for (;;) {
    if (length == text.size()) text.resize(std::min(text.size() * 2, most));
    const ssize_t got = persist([&] { return ::read(file.get(), text.data() + length, text.size() - length); });
    if (got < 0) return base::make_error("file.unreadable", path + ": " + reason(errno));
    if (got == 0) break;
    length += static_cast<std::size_t>(got);
    if (length > limit) return too_large(path, limit);
  }
  text.resize(length);
  return text;
}

// A file read as it is asked for, or standard input, which stays open.
class DescriptorBytes final : public base::ByteSource {
 public:
  explicit DescriptorBytes(base::CancelToken cancel)
      : path_("standard input"), number_(STDIN_FILENO), cancel_(std::move(cancel)) {}
  DescriptorBytes(std::string path, Descriptor file, std::optional<std::uint64_t> size)
      : path_(std::move(path)), file_(std::move(file)), number_(file_.get()), size_(size) {}

  [[nodiscard]] std::size_t read(std::span<char> into) override {
    if (into.empty() || problem_ || !wait()) return 0;
    const ssize_t got = persist([&] { return ::read(number_, into.data(), into.size()); });
    if (got < 0) problem_ = base::make_error("file.unreadable", path_ + ": " + reason(errno));
    taken_ += got > 0 ? static_cast<std::uint64_t>(got) : 0;
    return got > 0 ? static_cast<std::size_t>(got) : 0;
  }
  [[nodiscard]] std::optional<Diagnostic> problem() const override { return problem_; }
  [[nodiscard]] std::optional<std::uint64_t> size() const override { return size_; }
  [[nodiscard]] std::uint64_t taken() const override { return taken_; }

 private:
  // Until there is something to read; false: nobody wants it any more.
  bool wait() {
    if (!cancel_) return true;
    while (!cancel_->cancelled()) {
      pollfd asked{number_, POLLIN, 0};
      if (::poll(&asked, 1, kSilenceMs) != 0) return true;
    }
    return false;
  }

  std::string path_;
  Descriptor file_;
  int number_;
  std::optional<base::CancelToken> cancel_;
  std::optional<std::uint64_t> size_;
  std::uint64_t taken_ = 0;
  std::optional<Diagnostic> problem_;
};

// --- writing -------------------------------------------------------------------------------------------------------

// The name at the end of a chain of symbolic links; it need not exist. None: the links run in a circle.
std::optional<std::string> follow_links(std::string path) {
  for (int hop = 0; hop < kMostLinks; ++hop) {
    std::string target(4096, '\0');
    const ssize_t length = ::readlink(path.c_str(), target.data(), target.size());
    if (length < 0) return path;  // no link, or nothing there
    target.resize(static_cast<std::size_t>(length));
    if (!target.starts_with('/')) target.insert(0, folder_of(path).append("/"));  // seen from the link's folder
    path = std::move(target);
  }
  return std::nullopt;
}

std::string leftover_prefix(const std::string& target) { return "." + name_of(target).substr(0, kNameShare) + "."; }

constexpr const char* kLeftoverEnd = ".part";

// Takes away what an earlier write left when it was killed: a new file whose lock nobody holds.
void remove_leftovers(PosixFiles& files, const std::string& target) {
  const std::string prefix = leftover_prefix(target);
  for (const std::string& name : files.list(folder_of(target))) {
    if (!name.starts_with(prefix) || !name.ends_with(kLeftoverEnd)) continue;
    const std::string path = folder_of(target) + "/" + name;
    const Descriptor file = open_file(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK);
    if (file.open() && ::flock(file.get(), LOCK_EX | LOCK_NB) == 0) ::unlink(path.c_str());
  }
}

// One write on its way; what is not finished is taken away again.
class Replacement {
 public:
  Replacement(std::string shown, std::string target) : shown_(std::move(shown)), target_(std::move(target)) {}
  Replacement(const Replacement&) = delete;
  Replacement& operator=(const Replacement&) = delete;
  ~Replacement() {
    if (!path_.empty()) ::unlink(path_.c_str());
  }

  std::optional<Diagnostic> run(std::string_view text) {
    if (auto problem = look_at_old()) return problem;
    if (auto problem = open_new()) return problem;
    if (auto problem = fill(text)) return problem;
    return put_in_place();
  }

 private:
  std::optional<Diagnostic> look_at_old() {
    exists_ = ::stat(target_.c_str(), &old_) == 0;
    if (!exists_) return std::nullopt;
    if (S_ISDIR(old_.st_mode)) return unwritable(shown_, "is a folder", "name a file in it");
    if (!S_ISREG(old_.st_mode)) return unwritable(shown_, "is a device or a pipe", "name an ordinary file");
    if (::faccessat(AT_FDCWD, target_.c_str(), W_OK, AT_EACCESS) == 0) return std::nullopt;
    return unwritable(shown_, reason(errno), "it is protected against writing: write to another name, or free it");
  }

  // A name nobody else has, locked before anybody can take it for a leftover.
  std::optional<Diagnostic> open_new() {
    static std::atomic<unsigned> counter{0};
    const mode_t mode = exists_ ? 0600 : 0666;  // the mask of the process applies to a fresh file only
    for (int attempt = 0; attempt < kMostNames; ++attempt) {
      path_ = folder_of(target_) + "/" + leftover_prefix(target_) + std::to_string(::getpid()) + "-" +
              std::to_string(counter.fetch_add(1)) + kLeftoverEnd;
      file_ = open_file(path_, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW, mode);
      if (file_.open() && is_ours()) return std::nullopt;
      const int error = errno;
      const bool taken = file_.open() || error == EEXIST;
      file_ = Descriptor();
      if (taken) continue;
      path_.clear();
      return failed(error);
    }
    path_.clear();
    return unwritable(shown_, "no free name for the new file beside it");
  }

  // False when it was taken away before the lock was held. A file system without locks goes without.
  bool is_ours() {
    (void)persist([&] { return ::flock(file_.get(), LOCK_EX); });
    struct stat now {};
    return ::fstat(file_.get(), &now) == 0 && now.st_nlink > 0;
  }

  std::optional<Diagnostic> fill(std::string_view text) {
    while (!text.empty()) {
      const ssize_t put = persist([&] { return ::write(file_.get(), text.data(), text.size()); });
      if (put < 0) return failed(errno);
      text.remove_prefix(static_cast<std::size_t>(put));
    }
    if (exists_) {
      const bool given = ::fchown(file_.get(), old_.st_uid, old_.st_gid) == 0 ||
                         ::fchown(file_.get(), static_cast<uid_t>(-1), old_.st_gid) == 0;
      const mode_t keep = given ? 0777 : 0707;  // another group may not get what the old group could do
      if (::fchmod(file_.get(), old_.st_mode & keep) != 0) return failed(errno);
    }
    if (persist([&] { return ::fsync(file_.get()); }) != 0) return failed(errno);
    return std::nullopt;
  }

  std::optional<Diagnostic> put_in_place() {
    if (::rename(path_.c_str(), target_.c_str()) != 0) return failed(errno);
    path_.clear();
    const Descriptor folder = open_file(folder_of(target_), O_RDONLY | O_DIRECTORY);
    const bool flushed = folder.open() && persist([&] { return ::fsync(folder.get()); }) == 0;
    const int error = errno;
    // A folder that may not be read, or whose file system cannot flush folders, cannot be done better.
    if (flushed || error == EINVAL || error == EACCES) return std::nullopt;
    return unwritable(shown_, "written, but the disk did not confirm it: " + reason(error), "keep a copy elsewhere");
  }

  Diagnostic failed(int error) const {
    std::string hint;
    if (error == ENOENT) hint = "the folder " + folder_of(target_) + " is not there: make it first";
    if (error == EACCES || error == EROFS || error == EPERM)
      hint = "the folder " + folder_of(target_) + " takes no new file: choose another, or free it";
    if (error == ENOSPC || error == EDQUOT) hint = "the disk is full; the old file is as it was";
    return unwritable(shown_, reason(error), std::move(hint));
  }

  std::string shown_;   // as the user named it
  std::string target_;  // behind all links
  std::string path_;    // of the new file; empty when there is none to take away
  Descriptor file_;
  struct stat old_ {};
  bool exists_ = false;
};

// The file itself, locked, when its name still leads to it: who waited may find another in its place. None: `problem`
// says why. A file system without locks goes without.
Descriptor lock_old(PosixFiles& files, const std::string& shown, const std::string& target,
                    std::optional<Diagnostic>& problem) {
  for (int waited_ms = 0; waited_ms < kMostWaitMs;) {
    Descriptor file = open_file(target, O_RDONLY);
    if (!file.open()) {
      problem = cannot_open(files, shown, errno);
      return file;
    }
    const bool held = ::flock(file.get(), LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK;
    struct stat ours {
    }, named{};
    const bool same = ::fstat(file.get(), &ours) == 0 && ::stat(target.c_str(), &named) == 0 &&
                      ours.st_ino == named.st_ino && ours.st_dev == named.st_dev;
    if (!held && same) return file;
    if (!held) continue;  // replaced in the meantime: the new one
    (void)::poll(nullptr, 0, kLookAgainMs);
    waited_ms += kLookAgainMs;
  }
  problem = base::make_error("file.busy",
                             shown + ": another program has held it for " + std::to_string(kMostWaitMs / 1000) +
                                 " seconds, nothing was written",
                             "see what else is at work on this file, then try again");
  return {};
}

bool is_usable(const std::string& path) { return !path.empty() && path.find('\0') == std::string::npos; }

}  // namespace

base::Result<std::unique_ptr<base::ByteSource>> PosixFiles::open(const std::string& path) {
  if (path == "-" && standard_input_)
    return std::unique_ptr<base::ByteSource>(std::make_unique<DescriptorBytes>(*standard_input_));
  if (!is_usable(path)) return base::make_error("file.missing", "this is no path of a file");
  Descriptor file = open_file(path, O_RDONLY);
  if (!file.open()) return cannot_open(*this, path, errno);
  struct stat about {};
  if (::fstat(file.get(), &about) != 0) return base::make_error("file.unreadable", path + ": " + reason(errno));
  if (S_ISDIR(about.st_mode)) return base::make_error("file.unreadable", path + ": is a folder", "name a file in it");
  std::optional<std::uint64_t> size;
  if (S_ISREG(about.st_mode)) size = static_cast<std::uint64_t>(about.st_size);
  return std::unique_ptr<base::ByteSource>(std::make_unique<DescriptorBytes>(path, std::move(file), size));
}

base::Result<std::string> PosixFiles::read(const std::string& path, std::size_t limit_bytes) {
  if (!is_usable(path)) return base::make_error("file.missing", "this is no path of a file");
  const Descriptor file = open_file(path, O_RDONLY);
  if (!file.open()) return cannot_open(*this, path, errno);
  struct stat about {};
  if (::fstat(file.get(), &about) != 0) return base::make_error("file.unreadable", path + ": " + reason(errno));
  if (S_ISDIR(about.st_mode)) return base::make_error("file.unreadable", path + ": is a folder", "name a file in it");
  const std::size_t size = S_ISREG(about.st_mode) ? static_cast<std::size_t>(about.st_size) : 0;
  if (size > limit_bytes) return too_large(path, limit_bytes);
  return read_all(file, path, limit_bytes, std::max<std::size_t>(size, 4096));
}

base::Result<base::Done> PosixFiles::write(const std::string& path, std::string_view text) {
  if (!is_usable(path)) return base::make_error("file.unwritable", "this is no path of a file");
  const std::optional<std::string> target = follow_links(path);
  if (!target) return unwritable(path, "its symbolic links run in a circle");
  remove_leftovers(*this, *target);
  if (std::optional<Diagnostic> problem = Replacement(path, *target).run(text)) return *std::move(problem);
  return Done{};
}

base::Result<base::Done> PosixFiles::replace(const std::string& path, std::string_view before, std::string_view text) {
  if (!is_usable(path)) return base::make_error("file.unwritable", "this is no path of a file");
  const std::optional<std::string> target = follow_links(path);
  if (!target) return unwritable(path, "its symbolic links run in a circle");
  std::optional<Diagnostic> problem;
  const Descriptor lock = lock_old(*this, path, *target, problem);
  if (problem) return *std::move(problem);
  const Result<std::string> now = read_all(lock, path, before.size(), before.size());
  if (!now && now.diagnostics().front().code != "file.too-large") return now.diagnostics();
  if (!now || *now != before)
    return base::make_error("file.changed", path + ": has changed since it was read, nothing was written",
                            "look at it again, then enter the step anew");
  return write(path, text);
}

bool PosixFiles::exists(const std::string& path) {
  struct stat about {};
  return is_usable(path) && ::stat(path.c_str(), &about) == 0;
}

std::vector<std::string> PosixFiles::list(const std::string& folder) {
  std::vector<std::string> names;
  DIR* open = ::opendir(folder.empty() ? "." : folder.c_str());
  if (open == nullptr) return names;
  while (const dirent* entry = ::readdir(open)) {
    std::string name = entry->d_name;
    if (name != "." && name != "..") names.push_back(std::move(name));
  }
  ::closedir(open);
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace halfsplit::system
