// SPDX-License-Identifier: Apache-2.0
// Opening, reading and writing. WAL with synchronous=FULL: a transaction that came back is on disk, a killed one never
// was (sqlite.org, "Write-Ahead Logging").
#include "store/book.h"

#include "store/private_files.h"
#include "store/schema.h"

namespace halfsplit::store {

namespace {

base::Diagnostic no_job(std::int64_t id) {
  return base::make_error("book.no-job", "there is no job " + std::to_string(id) + " in the book",
                          "halfsplit jobs lists them");
}

void append_words(std::string& all, const std::string& more) {
  if (!more.empty()) all += (all.empty() ? "" : "\n") + more;
}

}  // namespace

base::Result<std::unique_ptr<Book>> Book::open(const std::string& folder) {
  const std::string path = folder + "/book.sqlite";
  if (!make_private_folder(folder))
    return base::make_error("book.unwritable", folder + ": the folder of the book cannot be made",
                            "HALFSPLIT_BOOK names another");
  if (!make_private_file(path))
    return base::make_error("book.unwritable", path + ": cannot be made or read",
                            "HALFSPLIT_BOOK names another folder");
  return guarded(path, [&]() -> base::Result<std::unique_ptr<Book>> {
    const bool left_open = file_exists(path + "-wal");  // by a kill, or by another process that has it open
    std::unique_ptr<Book> book(new Book(folder));
    const std::int64_t version = book->database_.number("PRAGMA user_version");
    const auto newest = static_cast<std::int64_t>(schema_steps().size());
    if (version > newest)
      return base::make_error("book.newer",
                              path + ": this book is of version " + std::to_string(version) +
                                  ", this program knows versions up to " + std::to_string(newest),
                              "use the newer program that wrote it; nothing was changed");
    book->prepare();
    if (left_open && book->database_.word("PRAGMA quick_check(1)") != "ok")
      throw SqlFailure{kDamaged, "the quick check found damage"};
    book->migrate(version);
    return book;
  });
}

void Book::prepare() {
  database_.run("PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA trusted_schema = OFF;");
  if (database_.word("PRAGMA journal_mode") != "wal") database_.run("PRAGMA journal_mode = WAL");
}

void Book::migrate(std::int64_t version) {
  const std::span<const char* const> steps = schema_steps();
  if (version == static_cast<std::int64_t>(steps.size())) return;
  Transaction transaction(database_);
  version = database_.number("PRAGMA user_version");  // another process may have been first
  const bool had_jobs = version > 0;
  for (auto step = static_cast<std::size_t>(version); step < steps.size(); ++step) database_.run(steps[step]);
  if (had_jobs && version < 2) {  // the search came with version 2
    std::vector<std::int64_t> ids;
    Statement all(database_, "SELECT id FROM jobs");
    while (all.step()) ids.push_back(all.number(0));
    for (const std::int64_t id : ids) {
      const base::Result<StoredJob> stored = read(id);
      if (stored) put_search(id, stored->job);
    }
  }
  database_.run("PRAGMA user_version = " + std::to_string(steps.size()));
  transaction.commit();
}

base::Result<std::int64_t> Book::reserve() {
  return attempt([&]() -> base::Result<std::int64_t> {
    Transaction transaction(database_);
    database_.run(
        "INSERT INTO sqlite_sequence(name, seq) SELECT 'jobs', 0 "
        "WHERE NOT EXISTS (SELECT 1 FROM sqlite_sequence WHERE name = 'jobs')");
    database_.run("UPDATE sqlite_sequence SET seq = seq + 1 WHERE name = 'jobs'");
    const std::int64_t id = database_.number("SELECT seq FROM sqlite_sequence WHERE name = 'jobs'");
    transaction.commit();
    return id;
  });
}

std::int64_t Book::head_of(std::int64_t id) const {
  Statement statement(database_, "SELECT head FROM jobs WHERE id = ?");
  return statement.bind(id).step() ? statement.number(0) : 0;
}

base::Result<bool> Book::contains(std::int64_t id) {
  return attempt([&]() -> base::Result<bool> { return head_of(id) > 0; });
}

base::Result<std::vector<Event>> Book::events(std::int64_t id) {
  return attempt([&]() -> base::Result<std::vector<Event>> {
    Statement all(database_, "SELECT seq, at, kind, body FROM events WHERE job = ? ORDER BY seq");
    all.bind(id);
    std::vector<Event> events;
    while (all.step()) events.push_back({all.number(0), all.text(1), all.text(2), all.text(3)});
    if (events.empty()) return no_job(id);
    return events;
  });
}

base::Result<StoredJob> Book::read(std::int64_t id, std::int64_t until) {
  const base::Result<std::vector<Event>> all = events(id);
  if (!all) return all.diagnostics();
  const std::int64_t last = all->back().seq;
  if (until < 0 || until > last)
    return base::make_error("book.no-event", "job " + std::to_string(id) + " has no event " + std::to_string(until),
                            "its events go from 1 to " + std::to_string(last));
  StoredJob stored;
  for (const Event& event : *all) {
    if (until > 0 && event.seq > until) break;
    const base::Result<base::Done> done = apply(stored.job, event);
    if (!done) return done.diagnostics();
    if (event.kind == "removed") stored.removed = true;
    if (event.kind == "restored") stored.removed = false;
    stored.head = event.seq;
  }
  return stored;
}

std::int64_t Book::append(std::int64_t id, std::int64_t head, const std::vector<Event>& events, const std::string& at) {
  for (const Event& event : events) {
    Statement one(database_, "INSERT INTO events(job, seq, at, kind, body) VALUES(?, ?, ?, ?, ?)");
    one.bind(id).bind(++head).bind(at).bind(event.kind).bind(event.body).done();
  }
  Statement move(database_, "UPDATE jobs SET head = ?, changed_at = ? WHERE id = ?");
  move.bind(head).bind(at).bind(id).done();
  return head;
}

void Book::put_head(std::int64_t id, std::int64_t head, const job::Job& job, const std::string& at) {
  Statement put(database_,
                "INSERT INTO jobs(id, head, loom, vehicle, customer, complaint, opened_at, closed_at, changed_at) "
                "VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT(id) DO UPDATE SET head = excluded.head, "
                "loom = excluded.loom, vehicle = excluded.vehicle, customer = excluded.customer, "
                "complaint = excluded.complaint, opened_at = excluded.opened_at, closed_at = excluded.closed_at, "
                "changed_at = excluded.changed_at");
  put.bind(id).bind(head).bind(job.loom).bind(job.vehicle).bind(job.customer).bind(job.complaint);
  put.bind(job.opened_at).bind(job.closed_at).bind(at).done();
}

void Book::put_search(std::int64_t id, const job::Job& job) {
  std::string entries, repairs;
  for (const job::Entry& entry : job.entries) {
    if (entry.struck) continue;
    const bool repair = entry.verb == "did" && entry.what.starts_with("repaired ");
    append_words(repair ? repairs : entries, entry.what + (entry.shows.empty() ? "" : " " + entry.shows));
  }
  Statement(database_, "DELETE FROM search WHERE rowid = ?").bind(id).done();
  Statement put(database_,
                "INSERT INTO search(rowid, vehicle, complaint, customer, loom, entries, repairs) "
                "VALUES(?, ?, ?, ?, ?, ?, ?)");
  put.bind(id).bind(job.vehicle).bind(job.complaint).bind(job.customer).bind(job.loom).bind(entries).bind(repairs);
  put.done();
}

base::Result<std::int64_t> Book::write(std::int64_t id, std::int64_t head, const job::Job& before,
                                       const job::Job& after, const std::string& at, const Taught* taught) {
  std::vector<Event> events = diff(before, after);
  if (taught != nullptr) events.push_back({0, "", "learned", learned_body(*taught)});
  return attempt([&]() -> base::Result<std::int64_t> {
    Transaction transaction(database_);
    if (head_of(id) != head)
      return base::make_error("job.moved",
                              "job " + std::to_string(id) + " has gone on in the meantime; this step was not entered",
                              "look at it again, then enter the step anew");
    if (events.empty()) return head;
    if (head == 0) put_head(id, 0, after, at);
    const std::int64_t moved = append(id, head, events, at);
    put_head(id, moved, after, at);
    put_search(id, after);
    for (const Event& event : events)
      if (event.kind == "reopened") Statement(database_, "DELETE FROM experience WHERE job = ?").bind(id).done();
    if (taught != nullptr) put_lessons(id, *taught);
    transaction.commit();
    return moved;
  });
}

base::Result<base::Done> Book::add_event(std::int64_t id, const std::string& kind, const std::string& body,
                                         const std::string& at) {
  return attempt([&]() -> base::Result<base::Done> {
    Transaction transaction(database_);
    const std::int64_t head = head_of(id);
    if (head == 0) return no_job(id);
    append(id, head, {{0, "", kind, body}}, at);
    transaction.commit();
    return base::Done{};
  });
}

base::Result<bool> Book::set_removed(std::int64_t id, bool removed, const std::string& at) {
  return attempt([&]() -> base::Result<bool> {
    Transaction transaction(database_);
    const std::int64_t head = head_of(id);
    if (head == 0) return no_job(id);
    Statement change(database_, "UPDATE jobs SET removed = ? WHERE id = ? AND removed <> ? RETURNING id");
    const bool changed = change.bind(std::int64_t{removed}).bind(id).bind(std::int64_t{removed}).step();
    change.done();
    if (!changed) return false;
    append(id, head, {{0, "", removed ? "removed" : "restored", "{}"}}, at);
    transaction.commit();
    return true;
  });
}

}  // namespace halfsplit::store
