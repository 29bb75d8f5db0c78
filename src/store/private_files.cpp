// SPDX-License-Identifier: Apache-2.0
#include "store/private_files.h"

#include <sys/stat.h>

#include <cerrno>
#include <cstdio>

#include "store/book.h"

namespace halfsplit::store {

namespace {

constexpr mode_t kOwnerEnters = 0700;
constexpr mode_t kOwnerReads = 0600;

}  // namespace

bool file_exists(const std::string& path) {
  struct stat found {};
  return ::stat(path.c_str(), &found) == 0;
}

bool is_same_file(const std::string& a, const std::string& b) {
  struct stat of_a {};
  struct stat of_b {};
  return ::stat(a.c_str(), &of_a) == 0 && ::stat(b.c_str(), &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
         of_a.st_ino == of_b.st_ino;
}

bool make_private_folder(const std::string& path) {
  if (path.empty()) return false;
  for (std::size_t cut = path.find('/', 1);; cut = path.find('/', cut + 1)) {
    const std::string part = path.substr(0, cut);
    if (::mkdir(part.c_str(), kOwnerEnters) != 0 && errno != EEXIST && !file_exists(part)) return false;
    if (cut == std::string::npos) break;
  }
  struct stat found {};
  return ::stat(path.c_str(), &found) == 0 && S_ISDIR(found.st_mode);
}

bool make_private_file(const std::string& path) {
  if (file_exists(path)) return true;
  std::FILE* file = std::fopen(path.c_str(), "ax");  // an error when another was quicker: then it is there
  if (file == nullptr) return file_exists(path);
  std::fclose(file);
  return ::chmod(path.c_str(), kOwnerReads) == 0;
}

bool move_file(const std::string& from, const std::string& to) {
  return !file_exists(to) && std::rename(from.c_str(), to.c_str()) == 0;
}

}  // namespace halfsplit::store
