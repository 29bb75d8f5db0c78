// SPDX-License-Identifier: Apache-2.0
// Care of the book: is it whole, and a copy of it. Source: sqlite.org, "SQLite Backup API", "PRAGMA integrity_check".
#include <sqlite3.h>

#include "store/book.h"

namespace halfsplit::store {

void Book::check_job(const JobHead& head, std::vector<std::string>& findings) {
  const std::string who = "job " + std::to_string(head.id) + ": ";
  const base::Result<std::vector<Event>> log = events(head.id);
  if (!log) return findings.push_back(who + log.diagnostics().front().message);
  std::int64_t expected = 0;
  for (const Event& event : *log)
    if (event.seq != ++expected) return findings.push_back(who + "event " + std::to_string(expected) + " is missing");
  const base::Result<StoredJob> stored = read(head.id);
  if (!stored) return findings.push_back(who + stored.diagnostics().front().message);
  const job::Job& job = stored->job;
  const bool same = stored->head == head.head && stored->removed == head.removed && job.loom == head.loom &&
                    job.vehicle == head.vehicle && job.customer == head.customer && job.complaint == head.complaint &&
                    job.opened_at == head.opened_at && job.closed_at == head.closed_at;
  if (!same) findings.push_back(who + "the list says something else than the log");
}

base::Result<std::vector<std::string>> Book::check() {
  return attempt([&]() -> base::Result<std::vector<std::string>> {
    std::vector<std::string> findings;
    Statement pages(database_, "PRAGMA integrity_check");
    while (pages.step())
      if (pages.text(0) != "ok") findings.push_back(pages.text(0));
    Statement keys(database_, "PRAGMA foreign_key_check");
    while (keys.step()) findings.push_back("table " + keys.text(0) + ": a row names a job that is not there");
    if (!findings.empty()) return findings;
    database_.run("INSERT INTO search(search) VALUES('integrity-check')");
    Filter everything;
    everything.removed = true;
    everything.most = static_cast<std::size_t>(database_.number("SELECT count(*) FROM jobs"));
    const base::Result<std::vector<JobHead>> heads = list(everything);
    if (!heads) return heads.diagnostics();
    for (const JobHead& head : *heads) check_job(head, findings);
    return findings;
  });
}

base::Result<std::string> Book::backup() {
  return attempt([&]() -> base::Result<std::string> {
    const Database copy(":memory:");
    sqlite3_backup* backup = sqlite3_backup_init(copy.handle(), "main", database_.handle(), "main");
    if (backup == nullptr) throw SqlFailure{sqlite3_errcode(copy.handle()), sqlite3_errmsg(copy.handle())};
    const int code = sqlite3_backup_step(backup, -1);
    sqlite3_backup_finish(backup);
    if (code != SQLITE_DONE) throw SqlFailure{code, sqlite3_errstr(code)};
    sqlite3_int64 size = 0;
    unsigned char* bytes = sqlite3_serialize(copy.handle(), "main", &size, 0);
    if (bytes == nullptr) throw SqlFailure{SQLITE_NOMEM, "out of memory"};
    std::string file(reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size));
    sqlite3_free(bytes);
    return file;
  });
}

}  // namespace halfsplit::store
