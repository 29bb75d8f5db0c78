// SPDX-License-Identifier: Apache-2.0
// "book:7", "shelf:NAME" and "profile:" as plain files of one folder: jobs/7.job.toml, shelf/NAME.loom.toml,
// profile.toml. Other paths are those of the disk. Keeps no state.
#pragma once

#include <string>

#include "system/posix_files.h"

namespace halfsplit::system {

// HALFSPLIT_BOOK, else halfsplit in XDG_DATA_HOME or ~/.local/share (XDG Base Directory Specification, from memory).
[[nodiscard]] std::string find_book_folder();

class FolderBook final : public base::Files {
 public:
  explicit FolderBook(std::string folder) : folder_(std::move(folder)) {}
  [[nodiscard]] base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  [[nodiscard]] base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  [[nodiscard]] bool exists(const std::string& path) override;
  [[nodiscard]] std::vector<std::string> list(const std::string& folder) override;

 private:
  [[nodiscard]] std::string place_of(const std::string& path) const;
  std::string folder_;
  PosixFiles disk_;
};

}  // namespace halfsplit::system
