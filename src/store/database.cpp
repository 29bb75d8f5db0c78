// SPDX-License-Identifier: Apache-2.0
#include "store/database.h"

#include <sqlite3.h>

#include <cerrno>

namespace halfsplit::store {

namespace {

constexpr int kBusyMilliseconds = 5000;

// SQLite tells a disk that filled up under its shared memory, or under a file system with a quota, as a failure of
// the disk itself.
bool is_full(sqlite3* handle, int code) {
  if ((code & 0xFF) != SQLITE_IOERR || handle == nullptr) return false;
  const int error = sqlite3_system_errno(handle);
  return sqlite3_extended_errcode(handle) == SQLITE_IOERR_SHMSIZE || error == ENOSPC || error == EDQUOT;
}

[[noreturn]] void refuse(sqlite3* handle, int code) {
  if (is_full(handle, code)) code = SQLITE_FULL;
  throw SqlFailure{code, handle == nullptr ? "out of memory" : sqlite3_errmsg(handle)};
}

}  // namespace

void Database::Closer::operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }
void Statement::Closer::operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }

Database::Database(const std::string& path) {
  sqlite3* handle = nullptr;
  const int code = sqlite3_open_v2(path.c_str(), &handle,
                                   SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_FULLMUTEX, nullptr);
  handle_.reset(handle);
  if (code != SQLITE_OK) refuse(handle, code);
  sqlite3_extended_result_codes(handle, 0);
  sqlite3_busy_timeout(handle, kBusyMilliseconds);
}

void Database::run(const std::string& sql) const {
  const int code = sqlite3_exec(handle(), sql.c_str(), nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) refuse(handle(), code);
}

std::int64_t Database::number(const std::string& sql) const {
  Statement statement(*this, sql);
  return statement.step() ? statement.number(0) : 0;
}

std::string Database::word(const std::string& sql) const {
  Statement statement(*this, sql);
  return statement.step() ? statement.text(0) : "";
}

Statement::Statement(const Database& database, std::string_view sql) : database_(database) {
  sqlite3_stmt* statement = nullptr;
  const int code = sqlite3_prepare_v2(database.handle(), sql.data(), static_cast<int>(sql.size()), &statement, nullptr);
  if (code != SQLITE_OK) refuse(database.handle(), code);
  statement_.reset(statement);
}

Statement& Statement::bind(std::string_view text) {
  const int code = sqlite3_bind_text64(statement_.get(), ++bound_, text.empty() ? "" : text.data(), text.size(),
                                       SQLITE_TRANSIENT, SQLITE_UTF8);
  if (code != SQLITE_OK) refuse(database_.handle(), code);
  return *this;
}

Statement& Statement::bind(std::int64_t number) {
  const int code = sqlite3_bind_int64(statement_.get(), ++bound_, number);
  if (code != SQLITE_OK) refuse(database_.handle(), code);
  return *this;
}

bool Statement::step() {
  const int code = sqlite3_step(statement_.get());
  if (code == SQLITE_ROW) return true;
  if (code != SQLITE_DONE) refuse(database_.handle(), code);
  return false;
}

std::int64_t Statement::number(int column) const { return sqlite3_column_int64(statement_.get(), column); }

std::string Statement::text(int column) const {
  const unsigned char* text = sqlite3_column_text(statement_.get(), column);
  const int bytes = sqlite3_column_bytes(statement_.get(), column);
  return text == nullptr ? "" : std::string(reinterpret_cast<const char*>(text), static_cast<std::size_t>(bytes));
}

Transaction::Transaction(const Database& database) : database_(database) { database_.run("BEGIN IMMEDIATE"); }

Transaction::~Transaction() {
  if (open_) sqlite3_exec(database_.handle(), "ROLLBACK", nullptr, nullptr, nullptr);
}

void Transaction::commit() {
  database_.run("COMMIT");
  open_ = false;
}

base::Diagnostic explain(const SqlFailure& failure, const std::string& path) {
  switch (failure.code & 0xFF) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return base::make_error("book.locked", path + ": another program has been writing to the book for too long",
                              "wait for it, or end it, then try again; nothing was changed");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return base::make_error("book.damaged", path + ": " + failure.message,
                              "put a backup in its place (halfsplit jobs backup makes them); keep the damaged file");
    case SQLITE_FULL:
      return base::make_error("book.full", path + ": the disk is full", "make room; nothing was changed");
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return base::make_error("book.unwritable", path + ": " + failure.message,
                              "the folder must be yours to write; HALFSPLIT_BOOK names another");
    default:
      return base::make_error("book.failed", path + ": " + failure.message, "nothing was changed; try again");
  }
}

}  // namespace halfsplit::store
