// SPDX-License-Identifier: Apache-2.0
// The words of `jobs`, one function each, and what they share. The operation itself is in op_jobs.cpp.
#pragma once

#include <string>
#include <vector>

#include "app/book_files.h"
#include "app/operation.h"

namespace halfsplit::app {

// What each word is given: the book open, and the job's number where it wants one.
struct JobsRequest {
  Context& context;
  const Arguments& arguments;
  store::Book& book;
  std::int64_t id = 0;
  std::string what;  // the words after the first

  [[nodiscard]] std::string job() const { return "book:" + std::to_string(id); }
};

// op_jobs.cpp
Reply jobs_list(const JobsRequest& request);
Reply jobs_show(const JobsRequest& request);
Reply jobs_history(const JobsRequest& request);
Reply jobs_remove(const JobsRequest& request);
Reply jobs_restore(const JobsRequest& request);
// op_jobs_files.cpp
Reply jobs_import(const JobsRequest& request);
Reply jobs_export(const JobsRequest& request);
Reply jobs_backup(const JobsRequest& request);
Reply jobs_check(const JobsRequest& request);
// op_jobs_photos.cpp
Reply jobs_photos(const JobsRequest& request);
Reply jobs_photo_add(const JobsRequest& request);
Reply jobs_photo_remove(const JobsRequest& request);
// op_jobs_recordings.cpp
Reply jobs_recordings(const JobsRequest& request);
Reply jobs_recording_add(const JobsRequest& request);
Reply jobs_recording_remove(const JobsRequest& request);
// op_jobs_rates.cpp
Reply jobs_rates(const JobsRequest& request);

// "did you mean list?", else all of them.
[[nodiscard]] std::string words_hint(const std::string& word, const std::vector<std::string>& words);
[[nodiscard]] Reply usage_error(std::string code, std::string message, std::string hint);

// A loom's text onto the shelf under `name`, or under a further name when another stands there; an equal one is used as
// it is. The path: "shelf:gritter".
[[nodiscard]] base::Result<std::string> shelve(BookFiles& files, const std::string& name, const std::string& text);

}  // namespace halfsplit::app
