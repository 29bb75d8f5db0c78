// SPDX-License-Identifier: Apache-2.0
// SQLite as two classes, for the files of this room only: a connection and a prepared statement. Failures are thrown as
// SqlFailure and stop at the public functions of the room (guarded), which turn them into diagnostics.
// Source: sqlite.org, "An Introduction to the SQLite C/C++ Interface".
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"

struct sqlite3;
struct sqlite3_stmt;

namespace halfsplit::store {

struct SqlFailure {
  int code = 0;         // of SQLite
  std::string message;  // its words
};

constexpr int kDamaged = 11;  // SQLITE_CORRUPT

class Database {
 public:
  // Opens or makes the file. Throws SqlFailure.
  explicit Database(const std::string& path);
  [[nodiscard]] sqlite3* handle() const { return handle_.get(); }
  void run(const std::string& sql) const;  // one statement or several, without values
  [[nodiscard]] std::int64_t number(const std::string& sql) const;
  [[nodiscard]] std::string word(const std::string& sql) const;

 private:
  struct Closer {
    void operator()(sqlite3* handle) const;
  };
  std::unique_ptr<sqlite3, Closer> handle_;
};

class Statement {
 public:
  Statement(const Database& database, std::string_view sql);
  Statement& bind(std::string_view text);
  Statement& bind(std::int64_t number);
  bool step();  // true: there is a row
  void done() {
    while (step()) {
    }
  }
  [[nodiscard]] std::int64_t number(int column) const;
  [[nodiscard]] std::string text(int column) const;

 private:
  struct Closer {
    void operator()(sqlite3_stmt* statement) const;
  };
  const Database& database_;
  std::unique_ptr<sqlite3_stmt, Closer> statement_;
  int bound_ = 0;
};

// BEGIN IMMEDIATE ... COMMIT; rolled back when it is left without commit().
class Transaction {
 public:
  explicit Transaction(const Database& database);
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  ~Transaction();
  void commit();

 private:
  const Database& database_;
  bool open_ = true;
};

// book.locked, book.damaged, book.full, book.unwritable, book.failed.
[[nodiscard]] base::Diagnostic explain(const SqlFailure& failure, const std::string& path);

// Runs `work`, which gives a Result; what SQLite refuses becomes its diagnostic.
template <class Work>
auto guarded(const std::string& path, const Work& work) -> decltype(work()) {
  try {
    return work();
  } catch (const SqlFailure& failure) {
    return explain(failure, path);
  }
}

}  // namespace halfsplit::store
