// SPDX-License-Identifier: Apache-2.0
#include "app/profile_files.h"

#include "store/book.h"

namespace halfsplit::app {

namespace {

base::Diagnostic no_folder() {
  return base::make_error("profile.nowhere", "there is no folder for the profile",
                          "name one: HALFSPLIT_BOOK=/a/folder, or set HOME");
}

}  // namespace

base::Result<std::string> ProfileFiles::read(const std::string& path, std::size_t limit_bytes) {
  if (path != kProfilePath) return beneath_.read(path, limit_bytes);
  if (path_.empty()) return no_folder();
  return beneath_.read(path_, limit_bytes);
}

base::Result<std::unique_ptr<base::ByteSource>> ProfileFiles::open(const std::string& path) {
  if (path != kProfilePath) return beneath_.open(path);
  if (path_.empty()) return no_folder();
  return beneath_.open(path_);
}

base::Result<base::Done> ProfileFiles::write(const std::string& path, std::string_view text) {
  if (path != kProfilePath) return beneath_.write(path, text);
  if (path_.empty()) return no_folder();
  if (!store::make_private_folder(folder_)) return beneath_.write(path_, text);  // says what is wrong with it
  return beneath_.write(path_, text);
}

base::Result<base::Done> ProfileFiles::replace(const std::string& path, std::string_view before,
                                               std::string_view text) {
  return path == kProfilePath ? write(path, text) : beneath_.replace(path, before, text);
}

bool ProfileFiles::exists(const std::string& path) {
  if (path != kProfilePath) return beneath_.exists(path);
  return !path_.empty() && beneath_.exists(path_);
}

}  // namespace halfsplit::app
