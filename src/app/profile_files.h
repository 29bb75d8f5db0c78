// SPDX-License-Identifier: Apache-2.0
// The path "profile:" is the workshop's profile: one file, wherever the book lies. All other paths are passed on.
#pragma once

#include <string>
#include <utility>

#include "base/seams.h"

namespace halfsplit::app {

inline constexpr const char* kProfilePath = "profile:";
inline constexpr const char* kProfileFile = "profile.toml";  // in the book's folder

class ProfileFiles final : public base::Files {
 public:
  // `folder`: of the book, made by the first write; empty: there is no profile and none can be written.
  ProfileFiles(base::Files& beneath, std::string folder)
      : beneath_(beneath), folder_(std::move(folder)), path_(folder_.empty() ? "" : folder_ + "/" + kProfileFile) {}
  base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override;
  base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  base::Result<base::Done> replace(const std::string& path, std::string_view before, std::string_view text) override;
  bool exists(const std::string& path) override;
  std::vector<std::string> list(const std::string& folder) override { return beneath_.list(folder); }

 private:
  base::Files& beneath_;
  std::string folder_, path_;
};

}  // namespace halfsplit::app
