// SPDX-License-Identifier: Apache-2.0
// `jobs`: in and out of the book as files, a copy of it, and whether it is whole.
#include "app/loaded_loom.h"
#include "app/op_jobs.h"
#include "app/session.h"
#include "app/words.h"
#include "formats/job_text.h"
#include "formats/loom_text.h"
#include "text/path.h"

namespace halfsplit::app {

namespace {

std::string file_part(const std::string& path) { return path.substr(path.find_last_of("/:") + 1); }

std::string stem_of(const std::string& path, std::string_view end) {
  std::string name = file_part(path);
  if (name.ends_with(end)) name.resize(name.size() - end.size());
  return name;
}

// The loom of a job that is brought in, on the shelf; as told, or the file the job names.
base::Result<std::string> bring_loom(const JobsRequest& request, const std::string& job_path, const job::Job& job) {
  if (is_shelf_path(job.loom)) {
    if (request.context.files.exists(job.loom)) return job.loom;
    return base::make_error("shelf.none", "the job's loom " + job.loom + " is not on this shelf",
                            "put it there first: halfsplit shelf put " + job.loom.substr(6) + " FILE");
  }
  if (request.arguments.has("loom-text"))
    return shelve(*request.context.book, stem_of(job.loom, ".loom.toml"), request.arguments.get("loom-text"));
  const std::string path = text::is_absolute_path(job.loom) ? job.loom : text::join_path(job_path, job.loom);
  const base::Result<std::string> text = request.context.files.read(path, kMostBytes);
  if (!text) return text.diagnostics();
  return shelve(*request.context.book, stem_of(path, ".loom.toml"), *text);
}

base::Result<job::Job> job_to_import(const JobsRequest& request, std::string& path) {
  const std::string given = request.arguments.get("text");
  path = request.what;
  if (!given.empty()) {
    if (path.empty()) path = "the job";
    return formats::read_job_text(path, given);
  }
  if (path.empty())
    return base::make_error("jobs.no-file", "jobs import needs a job file", "halfsplit jobs import x.job.toml");
  const base::Result<std::string> text = request.context.files.read(path, formats::kMostJobBytes);
  if (!text) return text.diagnostics();
  return formats::read_job_text(path, *text);
}

}  // namespace

base::Result<std::string> shelve(BookFiles& files, const std::string& name, const std::string& text) {
  for (int copy = 1;; ++copy) {
    const std::string path = "shelf:" + name + (copy == 1 ? "" : "-" + std::to_string(copy));
    const base::Result<std::string> file = files.shelf_file(path);
    if (!file) return file.diagnostics();
    if (!files.exists(path)) {
      const base::Result<base::Done> done = files.write(path, text);
      if (!done) return done.diagnostics();
      return path;
    }
    const base::Result<std::string> there = files.read(path, kMostBytes);
    if (there && *there == text) return path;
  }
}

Reply jobs_import(const JobsRequest& request) {
  std::string path;
  base::Result<job::Job> job = job_to_import(request, path);
  if (!job) return fail(job.diagnostics());
  const base::Result<std::string> loom = bring_loom(request, path, *job);
  if (!loom) return fail(loom.diagnostics());
  job->loom = *loom;
  const base::Result<std::string> text = formats::write_job_text(*job);
  if (!text) return fail(text.diagnostics());
  const base::Result<std::string> next = request.context.book->next_job();
  if (!next) return fail(next.diagnostics());
  const base::Result<base::Done> done = request.context.book->write(*next, *text);
  if (!done) return fail(done.diagnostics());
  const base::Result<base::Done> noted =
      request.book.add_event(job_number(*next), "imported",
                             Json{{"from", file_part(path)}}.dump(-1, ' ', false, Json::error_handler_t::replace),
                             request.context.book->now());
  if (!noted) return fail(noted.diagnostics());
  Reply reply;
  reply.result = {{"job", *next}, {"loom", *loom}, {"entries", job->entries.size()}};
  reply.text = path + " is now " + *next + ", its loom " + *loom + "; the file is no longer needed\n";
  return reply;
}

Reply jobs_export(const JobsRequest& request) {
  const base::Result<double> event = number_option(request.arguments, "event", 0.0, 1.0, 1e9);
  if (!event) return fail(event.diagnostics());
  base::Result<store::StoredJob> stored = request.book.read(request.id, static_cast<std::int64_t>(*event));
  if (!stored) return fail(stored.diagnostics());
  const base::Result<std::string> loom = request.context.files.read(stored->job.loom, kMostBytes);
  if (!loom) return fail(loom.diagnostics());
  const std::string loom_name = stem_of(stored->job.loom, "") + ".loom.toml";
  stored->job.loom = loom_name;  // beside it
  const base::Result<std::string> text = formats::write_job_text(stored->job);
  if (!text) return fail(text.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"loom_name", loom_name}};
  std::string out = request.arguments.get("out");
  if (out.empty()) {
    reply.result["text"] = *text;
    reply.result["loom_text"] = *loom;
    reply.text = *text;
    return reply;
  }
  const std::string beside = text::join_path(out, loom_name);
  const base::Result<std::string> there = request.context.files.exists(beside)
                                              ? request.context.files.read(beside, kMostBytes)
                                              : base::Result<std::string>(*loom);
  const bool other_loom = !there || *there != *loom;
  for (const std::string& file : {request.context.files.exists(out) ? out : "", other_loom ? beside : ""})
    if (!file.empty() && !request.arguments.has("force"))
      return fail(base::make_error("jobs.exists", "there is already a file " + file,
                                   "name another with --out, or replace it with --force"));
  base::Result<base::Done> done = request.context.files.write(beside, *loom);
  if (done) done = request.context.files.write(out, *text);
  if (!done) return fail(done.diagnostics());
  reply.result["out"] = out;
  reply.result["loom_out"] = beside;
  reply.text = "wrote " + out + " and its loom " + beside + "\n";
  return reply;
}

namespace {

// Kept files whose bytes are not those of their names: code and sentence.
using Damages = std::vector<std::pair<std::string, std::string>>;

base::Result<base::Done> check_photos(const JobsRequest& request, std::int64_t job, Damages& damages) {
  const base::Result<std::vector<store::Photo>> photos = request.book.photos(job);
  if (!photos) return photos.diagnostics();
  for (const store::Photo& photo : *photos) {
    const base::Result<std::string> bytes =
        request.context.book->read("photo:" + photo.sha256 + "." + photo.type, store::kMostPhotoBytes);
    if (!bytes || store::sha256_hex(*bytes) != photo.sha256)
      damages.emplace_back("book.photo", photo.name + " of job " + std::to_string(job) +
                                             (bytes ? ": the picture was changed" : ": the picture is not there"));
  }
  return base::Done{};
}

base::Result<base::Done> check_recordings(const JobsRequest& request, std::int64_t job, Damages& damages) {
  const base::Result<std::vector<store::Recording>> recordings = request.book.recordings(job);
  if (!recordings) return recordings.diagnostics();
  for (const store::Recording& recording : *recordings) {
    const base::Result<std::string> bytes =
        request.context.book->read("recording:" + recording.sha256, store::kMostRecordingBytes);
    if (!bytes || store::sha256_hex(*bytes) != recording.sha256)
      damages.emplace_back("book.recording",
                           recording.name + " of job " + std::to_string(job) +
                               (bytes ? ": the recording was changed" : ": the recording is not there"));
  }
  return base::Done{};
}

}  // namespace

Reply jobs_check(const JobsRequest& request) {
  const base::Result<std::vector<std::string>> findings = request.book.check();
  if (!findings) return fail(findings.diagnostics());
  Reply reply;
  std::size_t jobs = 0;
  store::Filter everything;
  everything.removed = true;
  everything.most = 10'000'000;
  const base::Result<std::vector<store::JobHead>> heads = request.book.list(everything);
  if (!heads) return fail(heads.diagnostics());
  jobs = heads->size();
  Damages damages;
  for (const store::JobHead& head : *heads)
    for (const auto check : {check_photos, check_recordings}) {
      const base::Result<base::Done> done = check(request, head.id, damages);
      if (!done) return fail(done.diagnostics());
    }
  reply.result = {{"jobs", jobs}, {"findings", *findings}, {"photos", Json::array()}, {"recordings", Json::array()}};
  for (const std::string& finding : *findings)
    reply.diagnostics.push_back(base::make_error("book.damaged", finding, "keep the file; put a backup in its place"));
  for (const auto& [code, sentence] : damages) {
    reply.result[code == "book.photo" ? "photos" : "recordings"].push_back(sentence);
    reply.diagnostics.push_back(base::make_error(code, sentence, ""));
  }
  if (!reply.diagnostics.empty()) reply.exit_code = 3;
  if (reply.exit_code == 0)
    reply.text = "the book is whole: " + std::to_string(jobs) + (jobs == 1 ? " job\n" : " jobs\n");
  return reply;
}

}  // namespace halfsplit::app
