// SPDX-License-Identifier: Apache-2.0
// `jobs recording`: recordings of a bus that belong to a job. Kept under the SHA-256 of their bytes; what holds no
// frame is refused. `capture` and `witness` read them as recording:SHA256.
#include <algorithm>

#include "app/op_jobs.h"
#include "app/words.h"
#include "base/bytes.h"
#include "capture/open_recording.h"
#include "text/utf8.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostRecordingName = 120;  // bytes

// A semicolon would end the name in an entry of the job (recorded_bus.h).
base::Result<std::string> name_told(const JobsRequest& request) {
  std::string name = request.arguments.get("name", request.what.substr(request.what.rfind('/') + 1));
  const bool controls =
      std::any_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) < 32; });
  if (name.empty() || name.size() > kMostRecordingName || controls || text::find_invalid_utf8(name))
    return base::make_error("recording.bad-name", "the recording's name is missing, too long or not UTF-8",
                            "give one with --name");
  std::replace(name.begin(), name.end(), ';', ',');
  return name;
}

// "run.log", or "run-2.log" when another recording of the job has that name.
std::string free_name(const std::string& wanted, const std::vector<store::Recording>& others) {
  const std::size_t dot = std::min(wanted.find('.', 1), wanted.size());
  std::string name = wanted;
  for (int copy = 2; std::any_of(others.begin(), others.end(), [&](const auto& one) { return one.name == name; });
       ++copy)
    name = wanted.substr(0, dot) + "-" + std::to_string(copy) + wanted.substr(dot);
  return name;
}

// Somebody's text log, a picture and an empty file are told apart here, not when the job needs them.
base::Result<base::Done> look_inside(const JobsRequest& request, const std::string& name, const std::string& bytes) {
  base::OneWorker alone;
  base::Result<std::unique_ptr<capture::FrameSource>> source =
      capture::open_recording(std::make_unique<base::StringBytes>(bytes), alone, name);
  if (!source) return source.diagnostics();
  bool any = false;
  (*source)->deliver([&](std::span<const can::Frame> frames) {
    any = any || !frames.empty();
    return !any && !request.context.cancel.cancelled();
  });
  if (any) return base::Done{};
  return base::make_error("recording.no-frame", name + " holds no frame of a CAN bus",
                          "a candump log, pcap or pcapng, also as .gz or .zst: docs/capture.md");
}

Json recording_json(const store::Recording& recording) {
  Json json{{"recording", "recording:" + recording.sha256},
            {"name", recording.name},
            {"bytes", recording.bytes},
            {"at", recording.at}};
  if (recording.removed) json["removed"] = true;
  return json;
}

std::string size_text(std::int64_t bytes) {
  return bytes < 1'000'000 ? std::to_string((bytes + 999) / 1000) + " kB"
                           : std::to_string((bytes + 500'000) / 1'000'000) + " MB";
}

}  // namespace

Reply jobs_recording_add(const JobsRequest& request) {
  if (request.what.empty())
    return usage_error("jobs.no-file", "jobs recording needs a file", "halfsplit jobs recording 7 run.log");
  const base::Result<std::string> name = name_told(request);
  if (!name) return fail(name.diagnostics());
  const base::Result<std::string> bytes = request.context.files.read(request.what, store::kMostRecordingBytes);
  if (!bytes && bytes.diagnostics().front().code == "file.too-large")
    return fail(base::make_error("recording.too-large", "a recording kept with a job has 64 MB at most",
                                 "compress it with gzip or zstd, or cut it to the minutes around the trouble; "
                                 "capture and witness read longer ones from the disk"));
  if (!bytes) return fail(bytes.diagnostics());
  const base::Result<base::Done> inside = look_inside(request, *name, *bytes);
  if (!inside) return fail(inside.diagnostics());
  const base::Result<std::vector<store::Recording>> others = request.book.recordings(request.id);
  if (!others) return fail(others.diagnostics());
  store::Recording recording{store::sha256_hex(*bytes), "", static_cast<std::int64_t>(bytes->size()),
                             request.context.book->now(), false};
  const auto same = std::find_if(others->begin(), others->end(),
                                 [&](const store::Recording& one) { return one.sha256 == recording.sha256; });
  recording.name = same != others->end() ? same->name : free_name(*name, *others);
  // The job first: nothing is kept for a job that is not there.
  const base::Result<store::StoredJob> stored = request.book.read(request.id);
  if (!stored) return fail(stored.diagnostics());
  base::Result<base::Done> done = request.context.book->keep_recording(recording.sha256, *bytes);
  if (done) done = request.book.add_recording(request.id, recording);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = recording_json(recording);
  reply.result["job"] = request.job();
  reply.text = "added " + recording.name + ", " + size_text(recording.bytes) +
               "; halfsplit capture recording:" + recording.sha256.substr(0, 12) + " reads it\n";
  return reply;
}

Reply jobs_recordings(const JobsRequest& request) {
  const base::Result<std::vector<store::Recording>> recordings = request.book.recordings(request.id);
  if (!recordings) return fail(recordings.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"recordings", Json::array()}};
  for (const store::Recording& one : *recordings) {
    if (one.removed && !request.arguments.has("all")) continue;
    reply.result["recordings"].push_back(recording_json(one));
    reply.text += "  recording:" + padded(one.sha256.substr(0, 12), 14) + padded(size_text(one.bytes), 9) + one.name +
                  (one.removed ? " (taken off)" : "") + "\n";
  }
  if (reply.result["recordings"].empty()) reply.text = "no recordings\n";
  return reply;
}

// By the beginning of its SHA-256 or by its name; once more puts it back.
Reply jobs_recording_remove(const JobsRequest& request) {
  const base::Result<std::vector<store::Recording>> recordings = request.book.recordings(request.id);
  if (!recordings) return fail(recordings.diagnostics());
  std::string wanted = request.what;
  if (is_recording_path(wanted)) wanted = wanted.substr(wanted.find(':') + 1);
  const store::Recording* found = nullptr;
  for (const store::Recording& one : *recordings) {
    if (wanted.empty() || (one.name != wanted && !one.sha256.starts_with(wanted))) continue;
    if (found != nullptr)
      return fail(base::make_error("recording.several", "several recordings begin with " + wanted, "give more of it"));
    found = &one;
  }
  if (found == nullptr)
    return fail(base::make_error("recording.none", "the job has no recording \"" + wanted + "\"",
                                 "halfsplit jobs recordings " + std::to_string(request.id) + " lists them"));
  const bool removed = !found->removed;
  const base::Result<bool> done =
      request.book.set_recording_removed(request.id, found->sha256, removed, request.context.book->now());
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"name", found->name}, {"removed", removed}};
  reply.text = found->name + (removed ? " is off the job; the same command puts it back\n" : " is on the job again\n");
  return reply;
}

}  // namespace halfsplit::app
