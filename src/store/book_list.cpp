// SPDX-License-Identifier: Apache-2.0
// The list and the search. Source of the query language: sqlite.org, "SQLite FTS5 Extension"; every word a user gives
// is quoted, so that nothing of it reaches them.
#include "store/book.h"

namespace halfsplit::store {

namespace {

// "J4:12" dead -> "J4:12"* "dead"*: every word must be there, or begin one that is.
std::string quoted_words(const std::string& words) {
  std::string query, word;
  const auto flush = [&] {
    if (!word.empty()) query += (query.empty() ? "\"" : " \"") + word + "\"*";
    word.clear();
  };
  for (const char c : words) {
    if (c == ' ' || c == '\t' || c == '\n' || c == '\r') {
      flush();
    } else {
      word += c == '"' ? "\"\"" : std::string(1, c);
    }
  }
  flush();
  return query;
}

constexpr const char* kColumns =
    "SELECT id, head, jobs.loom, jobs.vehicle, jobs.customer, jobs.complaint, opened_at, closed_at, changed_at, "
    "removed";

}  // namespace

base::Result<std::vector<JobHead>> Book::list(const Filter& filter) {
  const std::string query = quoted_words(filter.words);
  std::string sql = kColumns;
  sql += query.empty() ? ", '' FROM jobs WHERE 1"
                       : ", snippet(search, -1, '[', ']', '...', 10) FROM search JOIN jobs ON jobs.id = search.rowid "
                         "WHERE search MATCH ?";
  if (!filter.removed) sql += " AND removed = 0";
  if (!filter.since.empty()) sql += " AND changed_at >= ?";
  if (!filter.until.empty()) sql += " AND opened_at <= ?";
  sql += " ORDER BY closed_at <> '', changed_at DESC, id DESC LIMIT ?";
  return attempt([&]() -> base::Result<std::vector<JobHead>> {
    Statement found(database_, sql);
    if (!query.empty()) found.bind(query);
    if (!filter.since.empty()) found.bind(filter.since);
    if (!filter.until.empty()) found.bind(filter.until + "T23:59:59Z");
    found.bind(static_cast<std::int64_t>(filter.most));
    std::vector<JobHead> heads;
    while (found.step())
      heads.push_back({found.number(0), found.number(1), found.text(2), found.text(3), found.text(4), found.text(5),
                       found.text(6), found.text(7), found.text(8), found.number(9) != 0, found.text(10)});
    return heads;
  });
}

}  // namespace halfsplit::store
