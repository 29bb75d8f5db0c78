// SPDX-License-Identifier: Apache-2.0
// The book behind the seam of files: "book:7" is job 7 as a job document, "shelf:NAME" a loom on the shelf,
// "photo:SHA256.jpg" a photo, "recording:SHA256" a recording of a bus, which is read bit by bit; every other path is
// passed on. What is written to "book:7" becomes the events that make
// the difference to what was last read through here, so an older page cannot overwrite a newer step (job.moved). The
// book's folder is looked at when it is first asked for, never before. For one request at a time.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "base/seams.h"
#include "store/book.h"

namespace halfsplit::app {

// $HALFSPLIT_BOOK, else $XDG_DATA_HOME/halfsplit, else ~/.local/share/halfsplit (XDG Base Directory Specification, from
// memory); empty: there is nowhere.
[[nodiscard]] std::string find_book_folder();

[[nodiscard]] bool is_book_path(std::string_view path);       // "book:7", "shelf:gritter", "photo:...", "recording:..."
[[nodiscard]] bool is_shelf_path(std::string_view path);      // "shelf:gritter"
[[nodiscard]] bool is_recording_path(std::string_view path);  // "recording:..."

class BookFiles final : public base::Files {
 public:
  // `folder` empty: there is no book, and whoever asks for it is told so (book.nowhere).
  BookFiles(base::Files& beneath, base::Clock& clock, std::string folder)
      : beneath_(beneath), clock_(clock), folder_(std::move(folder)) {}

  // Of "book:N": book.no-job, book.bad-number, job.*, book.*; written: job.moved, book.loom. Of "shelf:NAME":
  // shelf.bad-name, shelf.none.
  [[nodiscard]] base::Result<std::string> read(const std::string& path, std::size_t limit_bytes) override;
  [[nodiscard]] base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override;
  [[nodiscard]] base::Result<base::Done> write(const std::string& path, std::string_view text) override;
  [[nodiscard]] base::Result<base::Done> replace(const std::string& path, std::string_view before,
                                                 std::string_view text) override;
  [[nodiscard]] bool exists(const std::string& path) override;
  // "book:" and "shelf:" list numbers of jobs (those not removed) and names of looms.
  [[nodiscard]] std::vector<std::string> list(const std::string& folder) override;

  // Opened, and made, when first asked for.
  [[nodiscard]] base::Result<store::Book*> book();
  // As write("book:N"), and in the same transaction what the job taught: a kill leaves both or neither.
  [[nodiscard]] base::Result<base::Done> write_and_learn(const std::string& path, std::string_view text,
                                                         const store::Taught& taught) {
    return write_job(path, text, &taught);
  }
  // "book:8", which no job has; what is written there begins it.
  [[nodiscard]] base::Result<std::string> next_job();
  [[nodiscard]] std::string now() const;  // ISO 8601, UTC

  // What proven jobs taught, those not forgotten; none while there is no book.
  [[nodiscard]] base::Result<std::vector<store::Learned>> learned();

  // The file of a loom on the shelf. Errors: shelf.bad-name, book.nowhere.
  [[nodiscard]] base::Result<std::string> shelf_file(std::string_view name) const;
  // Off the shelf, to shelf/removed, and back. Errors: shelf.none, shelf.exists.
  [[nodiscard]] base::Result<base::Done> remove_loom(const std::string& name);
  [[nodiscard]] base::Result<base::Done> restore_loom(const std::string& name);
  [[nodiscard]] std::vector<std::string> removed_looms();
  // A photo's bytes into the book's folder, under their SHA-256; what is there already is left.
  [[nodiscard]] base::Result<base::Done> keep_photo(const store::Photo& photo, const std::string& bytes);
  // The same of a recording's bytes.
  [[nodiscard]] base::Result<base::Done> keep_recording(const std::string& sha256, const std::string& bytes);
  // What that job calls the recording at "recording:SHA256"; of another path its last part.
  [[nodiscard]] std::string recording_name(std::int64_t job, const std::string& path);

  // What lies beside the database, as it is named from the book's folder: "shelf/gritter.loom.toml",
  // "photos/SHA256.jpg", "profile.toml".
  [[nodiscard]] std::vector<std::string> kept_files();
  // One of them to the same name under `folder`. What is named by its own fingerprint and is there already is left;
  // true: it was written. Errors: those of files, book.unwritable.
  [[nodiscard]] base::Result<bool> copy_kept(const std::string& file, const std::string& folder);

 private:
  [[nodiscard]] base::Result<std::string> read_job(const std::string& path);
  [[nodiscard]] base::Result<base::Done> write_job(const std::string& path, std::string_view text,
                                                   const store::Taught* taught);
  [[nodiscard]] base::Result<base::Done> write_loom(const std::string& path, std::string_view text);
  [[nodiscard]] std::vector<std::string> looms_in(const std::string& folder);
  // The file of "recording:SHA256", or of the beginning of it. Errors: file.missing, recording.several.
  [[nodiscard]] base::Result<std::string> recording_file(const std::string& path);

  base::Files& beneath_;
  base::Clock& clock_;
  std::string folder_;
  std::unique_ptr<store::Book> book_;
  std::map<std::int64_t, store::StoredJob> seen_;  // as last read or written here
  std::set<std::int64_t> reserved_;
};

// The number of "book:7" or of a bare "7"; 0: it is none.
[[nodiscard]] std::int64_t job_number(std::string_view path);

}  // namespace halfsplit::app
