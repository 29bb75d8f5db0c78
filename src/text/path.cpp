// SPDX-License-Identifier: Apache-2.0
#include "text/path.h"

#include <algorithm>
#include <cstddef>
#include <vector>

namespace halfsplit::text {

bool is_absolute_path(std::string_view path) {
  const bool drive = path.size() >= 2 && path[1] == ':';
  return !path.empty() && (path[0] == '/' || path[0] == '\\' || drive);
}

std::string normal_path(std::string_view path) {
  const bool absolute = !path.empty() && path[0] == '/';
  std::vector<std::string_view> parts;
  for (std::size_t begin = 0; begin <= path.size();) {
    const std::size_t end = std::min(path.find('/', begin), path.size());
    const std::string_view part = path.substr(begin, end - begin);
    begin = end + 1;
    if (part.empty() || part == ".") continue;
    const bool can_go_up = !parts.empty() && parts.back() != "..";
    if (part == ".." && can_go_up)
      parts.pop_back();
    else if (part != ".." || !absolute)
      parts.push_back(part);
  }
  std::string text = absolute ? "/" : "";
  for (std::size_t i = 0; i < parts.size(); ++i) text += (i > 0 ? "/" : "") + std::string(parts[i]);
  return text.empty() ? "." : text;
}

std::string join_path(std::string_view from, std::string_view relative) {
  const std::size_t slash = from.rfind('/');
  const std::string_view folder = slash == std::string_view::npos ? "" : from.substr(0, slash + 1);
  return normal_path(std::string(folder) + std::string(relative));
}

}  // namespace halfsplit::text
