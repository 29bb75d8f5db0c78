// SPDX-License-Identifier: Apache-2.0
#include "system/folder_book.h"

#include <sys/stat.h>

#include <array>
#include <cstdlib>
#include <string_view>

namespace halfsplit::system {

namespace {

struct Kind {
  std::string_view scheme, folder, ending;
};
constexpr std::array<Kind, 2> kKinds{{{"book:", "/jobs/", ".job.toml"}, {"shelf:", "/shelf/", ".loom.toml"}}};

std::string variable(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? "" : value;
}

void make_folders(const std::string& file) {
  for (std::size_t cut = file.find('/', 1); cut != std::string::npos; cut = file.find('/', cut + 1))
    ::mkdir(file.substr(0, cut).c_str(), 0700);
}

}  // namespace

std::string find_book_folder() {
  if (const std::string named = variable("HALFSPLIT_BOOK"); !named.empty()) return named;
  const std::string data = variable("XDG_DATA_HOME");
  return (data.starts_with('/') ? data : variable("HOME") + "/.local/share") + "/halfsplit";
}

std::string FolderBook::place_of(const std::string& path) const {
  if (path == "profile:") return folder_ + "/profile.toml";
  for (const Kind& kind : kKinds)
    if (path.starts_with(kind.scheme))
      return folder_ + std::string(kind.folder) + path.substr(kind.scheme.size()) + std::string(kind.ending);
  return path;
}

base::Result<std::string> FolderBook::read(const std::string& path, std::size_t limit_bytes) {
  const std::string place = place_of(path);
  if (place != path && !disk_.exists(place)) return base::make_error("file.missing", path + ": it is not in the book");
  return disk_.read(place, limit_bytes);
}

base::Result<base::Done> FolderBook::write(const std::string& path, std::string_view text) {
  const std::string place = place_of(path);
  if (place != path) make_folders(place);
  return disk_.write(place, text);
}

bool FolderBook::exists(const std::string& path) { return disk_.exists(place_of(path)); }

std::vector<std::string> FolderBook::list(const std::string& folder) {
  for (const Kind& kind : kKinds) {
    if (folder != kind.scheme) continue;
    std::vector<std::string> names;
    for (const std::string& name : disk_.list(folder_ + std::string(kind.folder)))
      if (name.ends_with(kind.ending)) names.push_back(name.substr(0, name.size() - kind.ending.size()));
    return names;
  }
  return disk_.list(folder);
}

}  // namespace halfsplit::system
