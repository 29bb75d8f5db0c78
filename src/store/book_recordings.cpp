// SPDX-License-Identifier: Apache-2.0
// Recordings of a bus: the files stand beside the book, named by their SHA-256; here stands which job has which.
#include <nlohmann/json.hpp>

#include "store/book.h"

namespace halfsplit::store {

namespace {

std::string recording_body(const Recording& recording) {
  const nlohmann::ordered_json body{{"sha256", recording.sha256}, {"name", recording.name}, {"bytes", recording.bytes}};
  return body.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace

base::Result<base::Done> Book::add_recording(std::int64_t id, const Recording& recording) {
  return attempt([&]() -> base::Result<base::Done> {
    Transaction transaction(database_);
    const std::int64_t head = head_of(id);
    if (head == 0)
      return base::make_error("book.no-job", "there is no job " + std::to_string(id) + " in the book",
                              "halfsplit jobs lists them");
    Statement put(database_,
                  "INSERT INTO recordings(job, sha256, name, bytes, at) VALUES(?, ?, ?, ?, ?) "
                  "ON CONFLICT(job, sha256) DO UPDATE SET removed = 0");
    put.bind(id).bind(recording.sha256).bind(recording.name).bind(recording.bytes).bind(recording.at).done();
    append(id, head, {{0, "", "recording", recording_body(recording)}}, recording.at);
    transaction.commit();
    return base::Done{};
  });
}

base::Result<bool> Book::set_recording_removed(std::int64_t id, const std::string& sha256, bool removed,
                                               const std::string& at) {
  return attempt([&]() -> base::Result<bool> {
    Transaction transaction(database_);
    Statement change(
        database_,
        "UPDATE recordings SET removed = ? WHERE job = ? AND sha256 = ? AND removed <> ? RETURNING name, bytes");
    change.bind(std::int64_t{removed}).bind(id).bind(sha256).bind(std::int64_t{removed});
    if (!change.step()) return false;
    Recording recording;
    recording.sha256 = sha256;
    recording.name = change.text(0);
    recording.bytes = change.number(1);
    change.done();
    append(id, head_of(id), {{0, "", removed ? "recording-removed" : "recording-restored", recording_body(recording)}},
           at);
    transaction.commit();
    return true;
  });
}

base::Result<std::vector<Recording>> Book::recordings(std::int64_t id) {
  return attempt([&]() -> base::Result<std::vector<Recording>> {
    Statement all(database_,
                  "SELECT sha256, name, bytes, at, removed FROM recordings WHERE job = ? ORDER BY at, sha256");
    all.bind(id);
    std::vector<Recording> recordings;
    while (all.step()) recordings.push_back({all.text(0), all.text(1), all.number(2), all.text(3), all.number(4) != 0});
    return recordings;
  });
}

}  // namespace halfsplit::store
