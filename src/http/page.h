// SPDX-License-Identifier: Apache-2.0
// The files of the page, built into the program by cmake/embed.cmake, each compressed with gzip (RFC 1952).
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::http {

struct PageFile {
  std::string_view name;   // "index.html", "assets/app.js"
  std::string_view bytes;  // compressed; stays as long as the program
  std::string_view etag;   // with its quotes
};

// Of this build; empty when it was built without Node. The definition is made with the build.
[[nodiscard]] const std::vector<PageFile>& page_files();

// By the ending of the name; "application/octet-stream" for others.
[[nodiscard]] std::string_view media_type(std::string_view name);

}  // namespace halfsplit::http
