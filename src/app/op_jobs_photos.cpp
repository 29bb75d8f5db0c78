// SPDX-License-Identifier: Apache-2.0
// `jobs photo`: pictures of a job. Kept under the SHA-256 of their bytes; what is not a picture is refused.
#include "app/base64.h"
#include "app/op_jobs.h"
#include "app/words.h"
#include "text/utf8.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostPhotoName = 200;

// Name and bytes: of the file named, or as base64 in `data`.
base::Result<std::string> photo_bytes(const JobsRequest& request, std::string& name) {
  name = request.arguments.get("name", request.what.substr(request.what.rfind('/') + 1));
  if (name.size() > kMostPhotoName || text::find_invalid_utf8(name))
    return base::make_error("photo.bad-name", "the photo's name is too long or not UTF-8", "give one with --name");
  const base::Diagnostic large =
      base::make_error("photo.too-large", "a photo has 12 MB at most", "take it at a smaller size");
  if (request.arguments.has("data")) {
    const std::string data = request.arguments.get("data");
    if (data.size() / 4 * 3 > store::kMostPhotoBytes + 3) return large;
    const std::optional<std::string> bytes = from_base64(data);
    if (!bytes) return base::make_error("photo.bad-data", "data is not base64", "");
    return *bytes;
  }
  if (request.what.empty())
    return base::make_error("jobs.no-file", "jobs photo needs a picture", "halfsplit jobs photo 7 plug.jpg --entry 3");
  base::Result<std::string> bytes = request.context.files.read(request.what, store::kMostPhotoBytes);
  if (!bytes && bytes.diagnostics().front().code == "file.too-large") return large;
  return bytes;
}

bool has_entry(const job::Job& job, std::int64_t number) {
  for (const job::Entry& entry : job.entries)
    if (entry.number == number) return true;
  return number == 0;
}

}  // namespace

Reply jobs_photo_add(const JobsRequest& request) {
  store::Photo photo;
  const base::Result<std::string> bytes = photo_bytes(request, photo.name);
  if (!bytes) return fail(bytes.diagnostics());
  photo.type = store::picture_type(*bytes);
  if (photo.type.empty())
    return fail(base::make_error("photo.no-picture", "this is no JPEG, PNG or WebP picture",
                                 "save it as one of these and add it again"));
  const base::Result<double> entry = number_option(request.arguments, "entry", 0.0, 0.0, 1e9);
  if (!entry) return fail(entry.diagnostics());
  photo.entry = static_cast<std::int64_t>(*entry);
  const base::Result<store::StoredJob> stored = request.book.read(request.id);
  if (!stored) return fail(stored.diagnostics());
  if (!has_entry(stored->job, photo.entry))
    return fail(base::make_error("photo.no-entry", "the job has no entry " + std::to_string(photo.entry),
                                 "halfsplit jobs show " + std::to_string(request.id) + " lists them"));
  photo.sha256 = store::sha256_hex(*bytes);
  photo.bytes = static_cast<std::int64_t>(bytes->size());
  photo.at = request.context.book->now();
  if (photo.name.empty()) photo.name = photo.sha256.substr(0, 12) + "." + photo.type;
  base::Result<base::Done> done = request.context.book->keep_photo(photo, *bytes);
  if (done) done = request.book.add_photo(request.id, photo);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()},
                  {"photo", "photo:" + photo.sha256 + "." + photo.type},
                  {"name", photo.name},
                  {"entry", photo.entry},
                  {"bytes", photo.bytes}};
  reply.text = "added " + photo.name + " (" + photo.sha256.substr(0, 12) + ")" +
               (photo.entry > 0 ? " to entry " + std::to_string(photo.entry) : "") + "\n";
  return reply;
}

Reply jobs_photos(const JobsRequest& request) {
  const base::Result<std::vector<store::Photo>> photos = request.book.photos(request.id);
  if (!photos) return fail(photos.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"photos", Json::array()}};
  for (const store::Photo& photo : *photos) {
    if (photo.removed && !request.arguments.has("all")) continue;
    Json json{{"photo", "photo:" + photo.sha256 + "." + photo.type},
              {"name", photo.name},
              {"entry", photo.entry},
              {"bytes", photo.bytes},
              {"at", photo.at}};
    if (photo.removed) json["removed"] = true;
    reply.result["photos"].push_back(json);
    reply.text += "  " + padded(photo.sha256.substr(0, 12), 14) +
                  padded(photo.entry > 0 ? "entry " + std::to_string(photo.entry) : "", 11) + photo.name +
                  (photo.removed ? " (taken off)" : "") + "\n";
  }
  if (reply.result["photos"].empty()) reply.text = "no photos\n";
  return reply;
}

// By the beginning of its SHA-256; once more puts it back.
Reply jobs_photo_remove(const JobsRequest& request) {
  const base::Result<std::vector<store::Photo>> photos = request.book.photos(request.id);
  if (!photos) return fail(photos.diagnostics());
  const store::Photo* found = nullptr;
  for (const store::Photo& photo : *photos) {
    if (request.what.empty() || !photo.sha256.starts_with(request.what)) continue;
    if (found != nullptr)
      return fail(base::make_error("photo.several", "several photos begin with " + request.what, "give more of it"));
    found = &photo;
  }
  if (found == nullptr)
    return fail(base::make_error("photo.none", "the job has no photo \"" + request.what + "\"",
                                 "halfsplit jobs photos " + std::to_string(request.id) + " lists them"));
  const bool removed = !found->removed;
  const base::Result<bool> done =
      request.book.set_photo_removed(request.id, found->sha256, removed, request.context.book->now());
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"name", found->name}, {"removed", removed}};
  reply.text = found->name + (removed ? " is off the job; the same command puts it back\n" : " is on the job again\n");
  return reply;
}

}  // namespace halfsplit::app
