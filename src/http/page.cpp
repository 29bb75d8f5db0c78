// SPDX-License-Identifier: Apache-2.0
#include "http/page.h"

#include <array>
#include <utility>

namespace halfsplit::http {

std::string_view media_type(std::string_view name) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 11> kTypes{{
      {".html", "text/html; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".json", "application/json"},
      {".webmanifest", "application/manifest+json"},
      {".svg", "image/svg+xml"},
      {".png", "image/png"},
      {".jpg", "image/jpeg"},
      {".webp", "image/webp"},
      {".ico", "image/x-icon"},
      {".woff2", "font/woff2"},
  }};
  for (const auto& [ending, type] : kTypes)
    if (name.ends_with(ending)) return type;
  return "application/octet-stream";
}

}  // namespace halfsplit::http
