// SPDX-License-Identifier: Apache-2.0
// The book of jobs: one SQLite file, each job a log of events that is only ever added to (docs/formats/book.md). Knows
// jobs as documents, never circuits. Everything a caller can meet comes as a diagnostic: book.* and job.moved. One Book
// is one connection, for one thread at a time; several processes may have the same file open.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "job/job.h"
#include "store/database.h"
#include "store/job_events.h"

namespace halfsplit::store {

// A line of the list.
struct JobHead {
  std::int64_t id = 0;
  std::int64_t head = 0;  // seq of the newest event
  std::string loom, vehicle, customer, complaint;
  std::string opened_at, closed_at, changed_at;  // ISO 8601, UTC; closed_at empty: open
  bool removed = false;
  std::string found;  // of a search: the words around what was found, [so] marked
};

struct StoredJob {
  std::int64_t head = 0;
  job::Job job;
  bool removed = false;
};

struct Filter {
  std::string words;         // each must be there, or a word that begins with it; empty: all
  std::string since, until;  // "2024-05-06": jobs under way in between, both days included; empty: no bound
  bool removed = false;      // also those taken out
  std::size_t most = 1000;
};

struct Photo {
  std::string sha256, type, name;
  std::int64_t entry = 0, bytes = 0;
  std::string at;
  bool removed = false;
};

// A recording of a bus that belongs to a job.
struct Recording {
  std::string sha256, name;
  std::int64_t bytes = 0;
  std::string at;
  bool removed = false;
};

// What a proven job taught: counts by kind of fault ("contact/open"), by fault of its loom, and how long its loom
// counts as watched. Days are item-days: vehicles times items times days.
struct Lesson {
  enum class Scope : std::uint8_t { kLoom, kKind, kItem };
  Scope scope = Scope::kKind;
  std::string name;
  std::int64_t confirmed = 0, days = 0;
};
struct Taught {
  std::string loom;
  std::vector<Lesson> lessons;
};
struct Learned {
  std::int64_t job = 0;
  std::string loom;
  Lesson lesson;
  bool forgotten = false;
  std::string closed_at;  // of that job
};

class Book {
 public:
  // Opens `folder`/book.sqlite, makes it (and the folder, 0700; the file, 0600) when it is not there, and brings an
  // older one up to date. Errors: book.newer, book.damaged, book.unwritable, book.locked.
  [[nodiscard]] static base::Result<std::unique_ptr<Book>> open(const std::string& folder);

  [[nodiscard]] const std::string& folder() const { return folder_; }
  [[nodiscard]] std::string path() const { return folder_ + "/book.sqlite"; }

  // A number that no job has and none will be given again.
  [[nodiscard]] base::Result<std::int64_t> reserve();
  [[nodiscard]] base::Result<bool> contains(std::int64_t id);
  // As its events add up; `until`: only those up to this one. Errors: book.no-job, book.no-event, book.bad-event.
  [[nodiscard]] base::Result<StoredJob> read(std::int64_t id, std::int64_t until = 0);
  // Adds what changed from `before`, which was read at `head` (0: a job newly made under a reserved number). One
  // transaction, on disk when this returns. The new head. Errors: job.moved when the job has other events since.
  // `taught`: what the step taught, in the same transaction; it takes the place of what the job taught before. A job
  // that is opened again teaches nothing.
  [[nodiscard]] base::Result<std::int64_t> write(std::int64_t id, std::int64_t head, const job::Job& before,
                                                 const job::Job& after, const std::string& at,
                                                 const Taught* taught = nullptr);
  // Adds an event beside the document (imported).
  [[nodiscard]] base::Result<base::Done> add_event(std::int64_t id, const std::string& kind, const std::string& body,
                                                   const std::string& at);
  [[nodiscard]] base::Result<std::vector<Event>> events(std::int64_t id);

  // Newest change first, open ones before closed ones. Errors: book.bad-search.
  [[nodiscard]] base::Result<std::vector<JobHead>> list(const Filter& filter);
  // Out of the list and out of what was learned, or back; nothing is lost. True when that changed something.
  [[nodiscard]] base::Result<bool> set_removed(std::int64_t id, bool removed, const std::string& at);

  [[nodiscard]] base::Result<base::Done> add_photo(std::int64_t id, const Photo& photo);
  [[nodiscard]] base::Result<bool> set_photo_removed(std::int64_t id, const std::string& sha256, bool removed,
                                                     const std::string& at);
  [[nodiscard]] base::Result<std::vector<Photo>> photos(std::int64_t id);

  // One that the job has already keeps its name and is no longer removed.
  [[nodiscard]] base::Result<base::Done> add_recording(std::int64_t id, const Recording& recording);
  [[nodiscard]] base::Result<bool> set_recording_removed(std::int64_t id, const std::string& sha256, bool removed,
                                                         const std::string& at);
  [[nodiscard]] base::Result<std::vector<Recording>> recordings(std::int64_t id);

  [[nodiscard]] base::Result<bool> set_forgotten(std::int64_t id, bool forgotten, const std::string& at);
  [[nodiscard]] base::Result<std::vector<Learned>> learned();  // of jobs not removed, by job

  // Every fault found, empty when there is none: pages, keys, logs without gaps, search, lists against logs.
  [[nodiscard]] base::Result<std::vector<std::string>> check();
  // The whole database as the bytes of a file, a consistent state of it while others write.
  [[nodiscard]] base::Result<std::string> backup();

 private:
  explicit Book(const std::string& folder) : folder_(folder), database_(path()) {}
  void prepare();
  void migrate(std::int64_t version);
  [[nodiscard]] std::int64_t head_of(std::int64_t id) const;
  std::int64_t append(std::int64_t id, std::int64_t head, const std::vector<Event>& events, const std::string& at);
  void put_head(std::int64_t id, std::int64_t head, const job::Job& job, const std::string& at);
  void put_search(std::int64_t id, const job::Job& job);
  void put_lessons(std::int64_t id, const Taught& taught);
  void check_job(const JobHead& head, std::vector<std::string>& findings);
  template <class Work>
  auto attempt(const Work& work) {
    return guarded(path(), work);
  }

  std::string folder_;
  Database database_;
};

// The body of the event "learned".
[[nodiscard]] std::string learned_body(const Taught& taught);

// 64 hex digits. Source: FIPS 180-4, by libgcrypt.
[[nodiscard]] std::string sha256_hex(const std::string& bytes);
// "jpg", "png", "webp" by the first bytes; empty: none of them.
[[nodiscard]] std::string picture_type(const std::string& bytes);
constexpr std::size_t kMostPhotoBytes = std::size_t{12} << 20U;
constexpr std::size_t kMostRecordingBytes = std::size_t{64} << 20U;  // as it comes, compressed or not

// Makes a folder only its owner can enter, and those above it; false when that cannot be.
[[nodiscard]] bool make_private_folder(const std::string& path);
// Do both paths lead to one file? False when one of them leads nowhere.
[[nodiscard]] bool is_same_file(const std::string& a, const std::string& b);
// Moves a file; false when that cannot be. What stands at `to` stays there: false then too.
[[nodiscard]] bool move_file(const std::string& from, const std::string& to);

}  // namespace halfsplit::store
