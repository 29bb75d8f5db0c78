// SPDX-License-Identifier: Apache-2.0
// The path "profile:" is the workshop's profile: one file, wherever the book lies. All other paths are passed on.
#pragma once

#include <functional>
#include <string>
#include <utility>

#include "base/seams.h"

namespace halfsplit::app {

inline constexpr const char* kProfilePath = "profile:";

class ProfileFiles final : public base::Files {
 public:
  // `path`: of the file beneath; empty: there is no profile and none can be written. `make_folder` is called before a
  // write, and may be empty.
  ProfileFiles(base::Files& beneath, std::string path, std::function<void()> make_folder = {})
      : beneath_(beneath), path_(std::move(path)), make_folder_(std::move(make_folder)) {}
  base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  bool exists(const std::string& path) override;
  std::vector<std::string> list(const std::string& folder) override { return beneath_.list(folder); }

 private:
  base::Files& beneath_;
  std::string path_;
  std::function<void()> make_folder_;
};

}  // namespace halfsplit::app
