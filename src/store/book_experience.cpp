// SPDX-License-Identifier: Apache-2.0
// What proven jobs taught, in counts; what follows from them for a rate is worked out by infer/learned_rate.h.
#include <array>
#include <nlohmann/json.hpp>

#include "store/book.h"

namespace halfsplit::store {

namespace {

constexpr std::array<std::string_view, 3> kScopes{"loom", "kind", "item"};

Lesson::Scope scope_of(std::string_view word) {
  for (std::size_t i = 0; i < kScopes.size(); ++i)
    if (kScopes.at(i) == word) return static_cast<Lesson::Scope>(i);
  throw SqlFailure{0, "experience of an unknown scope"};
}

}  // namespace

std::string learned_body(const Taught& taught) {
  nlohmann::ordered_json confirmed = nlohmann::ordered_json::array();
  for (const Lesson& lesson : taught.lessons)
    if (lesson.scope == Lesson::Scope::kItem && lesson.confirmed > 0) confirmed.push_back(lesson.name);
  const nlohmann::ordered_json body{{"loom", taught.loom}, {"confirmed", confirmed}};
  return body.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

void Book::put_lessons(std::int64_t id, const Taught& taught) {
  Statement(database_, "DELETE FROM experience WHERE job = ?").bind(id).done();
  for (const Lesson& lesson : taught.lessons) {
    Statement put(database_,
                  "INSERT INTO experience(job, loom, scope, name, confirmed, days) VALUES(?, ?, ?, ?, ?, ?)");
    put.bind(id).bind(taught.loom).bind(kScopes.at(static_cast<std::size_t>(lesson.scope))).bind(lesson.name);
    put.bind(lesson.confirmed).bind(lesson.days).done();
  }
}

base::Result<bool> Book::set_forgotten(std::int64_t id, bool forgotten, const std::string& at) {
  return attempt([&]() -> base::Result<bool> {
    Transaction transaction(database_);
    const bool taught = Statement(database_, "SELECT 1 FROM experience WHERE job = ? LIMIT 1").bind(id).step();
    const bool was = Statement(database_, "SELECT 1 FROM forgotten WHERE job = ?").bind(id).step();
    if (!taught || was == forgotten) return false;
    Statement(database_, forgotten ? "INSERT INTO forgotten(job) VALUES(?)" : "DELETE FROM forgotten WHERE job = ?")
        .bind(id)
        .done();
    append(id, head_of(id), {{0, "", forgotten ? "forgotten" : "remembered", "{}"}}, at);
    transaction.commit();
    return true;
  });
}

base::Result<std::vector<Learned>> Book::learned() {
  return attempt([&]() -> base::Result<std::vector<Learned>> {
    Statement all(database_,
                  "SELECT e.job, e.loom, e.scope, e.name, e.confirmed, e.days, "
                  "EXISTS (SELECT 1 FROM forgotten f WHERE f.job = e.job), j.closed_at FROM experience e JOIN jobs j "
                  "ON j.id = e.job "
                  "WHERE j.removed = 0 ORDER BY e.job, e.scope, e.name");
    std::vector<Learned> rows;
    while (all.step())
      rows.push_back({all.number(0),
                      all.text(1),
                      {scope_of(all.text(2)), all.text(3), all.number(4), all.number(5)},
                      all.number(6) != 0,
                      all.text(7)});
    return rows;
  });
}

}  // namespace halfsplit::store
