// SPDX-License-Identifier: Apache-2.0
#include "store/schema.h"

namespace halfsplit::store {

namespace {

// The log is what counts; jobs and photos say the same in a form that can be listed.
constexpr const char* kJobsAndEvents = R"sql(
CREATE TABLE jobs (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  head INTEGER NOT NULL,           -- seq of its newest event
  loom TEXT NOT NULL,
  vehicle TEXT NOT NULL,
  customer TEXT NOT NULL,
  complaint TEXT NOT NULL,
  opened_at TEXT NOT NULL,
  closed_at TEXT NOT NULL,         -- empty: open
  changed_at TEXT NOT NULL,        -- time of its newest event
  removed INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE events (
  job INTEGER NOT NULL REFERENCES jobs(id),
  seq INTEGER NOT NULL,            -- from 1 within its job, without gaps
  at TEXT NOT NULL,
  kind TEXT NOT NULL,
  body TEXT NOT NULL,              -- a JSON object
  PRIMARY KEY (job, seq)
) WITHOUT ROWID;
CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
CREATE TRIGGER events_are_kept BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END;
CREATE TABLE photos (
  job INTEGER NOT NULL REFERENCES jobs(id),
  sha256 TEXT NOT NULL,
  type TEXT NOT NULL,              -- jpg, png, webp
  name TEXT NOT NULL,
  entry INTEGER NOT NULL,          -- 0: of the job as a whole
  bytes INTEGER NOT NULL,
  at TEXT NOT NULL,
  removed INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (job, sha256)
) WITHOUT ROWID;
)sql";

constexpr const char* kSearch = R"sql(
CREATE VIRTUAL TABLE search USING fts5(
  vehicle, complaint, customer, loom, entries, repairs,
  tokenize = "unicode61 remove_diacritics 2", prefix = '2 3');
)sql";

constexpr const char* kExperience = R"sql(
CREATE TABLE experience (
  job INTEGER NOT NULL REFERENCES jobs(id),
  loom TEXT NOT NULL,              -- its name
  scope TEXT NOT NULL,             -- 'loom', 'kind', 'item'
  name TEXT NOT NULL,              -- '', 'contact/open', 'J4:12 open'
  confirmed INTEGER NOT NULL,
  days INTEGER NOT NULL,           -- watched: items times days
  PRIMARY KEY (job, scope, name)
) WITHOUT ROWID;
CREATE TABLE forgotten (job INTEGER PRIMARY KEY REFERENCES jobs(id));
)sql";

constexpr const char* kRecordings = R"sql(
CREATE TABLE recordings (
  job INTEGER NOT NULL REFERENCES jobs(id),
  sha256 TEXT NOT NULL,
  name TEXT NOT NULL,              -- of one job, no two have the same
  bytes INTEGER NOT NULL,
  at TEXT NOT NULL,
  removed INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (job, sha256)
) WITHOUT ROWID;
)sql";

constexpr const char* kSteps[] = {kJobsAndEvents, kSearch, kExperience, kRecordings};

}  // namespace

std::span<const char* const> schema_steps() { return kSteps; }

}  // namespace halfsplit::store
