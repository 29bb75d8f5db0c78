// SPDX-License-Identifier: Apache-2.0
// `jobs`: the book. The list, one job as it is or was, its history; taking a job out and putting it back.
#include "app/op_jobs.h"

#include <algorithm>

#include "app/ops.h"
#include "app/words.h"
#include "base/nearest.h"
#include "formats/job_text.h"
#include "formats/timestamp.h"

namespace halfsplit::app {

namespace {

struct JobsWord {
  std::string_view word;
  bool wants_job;
  Reply (*run)(const JobsRequest&);
};

constexpr JobsWord kJobsWords[] = {{"list", false, jobs_list},
                                   {"find", false, jobs_list},
                                   {"show", true, jobs_show},
                                   {"history", true, jobs_history},
                                   {"export", true, jobs_export},
                                   {"import", false, jobs_import},
                                   {"backup", false, jobs_backup},
                                   {"check", false, jobs_check},
                                   {"remove", true, jobs_remove},
                                   {"restore", true, jobs_restore},
                                   {"photos", true, jobs_photos},
                                   {"photo", true, jobs_photo_add},
                                   {"photo-remove", true, jobs_photo_remove},
                                   {"recordings", true, jobs_recordings},
                                   {"recording", true, jobs_recording_add},
                                   {"recording-remove", true, jobs_recording_remove},
                                   {"rates", false, jobs_rates}};

base::Result<std::string> day_option(const Arguments& arguments, const std::string& name) {
  const std::string day = arguments.get(name);
  if (day.empty() || formats::parse_timestamp(day + "T00:00:00Z")) return day;
  return base::make_error("args.bad-date", name + " is a day as 2024-05-06, not " + day, "year, month, day");
}

Json job_head_json(const store::JobHead& head) {
  Json json{{"job", "book:" + std::to_string(head.id)},
            {"id", head.id},
            {"open", head.closed_at.empty()},
            {"loom", head.loom},
            {"vehicle", head.vehicle},
            {"customer", head.customer},
            {"complaint", head.complaint},
            {"opened_at", head.opened_at},
            {"closed_at", head.closed_at},
            {"changed_at", head.changed_at},
            {"events", head.head}};
  if (head.removed) json["removed"] = true;
  if (!head.found.empty()) json["found"] = head.found;
  return json;
}

std::string job_head_text(const store::JobHead& head) {
  const std::string about = (head.vehicle.empty() ? "" : head.vehicle + ": ") + head.complaint +
                            (head.customer.empty() ? "" : " (" + head.customer + ")");
  std::string text = "  " + padded(std::to_string(head.id), 5) + padded(head.closed_at.empty() ? "open" : "closed", 8) +
                     padded(head.opened_at.substr(0, 10), 12) + wrap(about, 27) + (head.removed ? " (taken out)" : "") +
                     "\n";
  if (!head.found.empty()) {
    std::string found = head.found;
    for (std::size_t at = found.find('\n'); at != std::string::npos; at = found.find('\n', at))
      found.replace(at, 1, "; ");
    text += "       " + wrap(found, 9) + "\n";
  }
  return text;
}

}  // namespace

std::string words_hint(const std::string& word, const std::vector<std::string>& words) {
  const std::string near = base::did_you_mean(word, words);
  if (!near.empty()) return near;
  std::string all;
  for (const std::string& one : words) all += (all.empty() ? "words: " : ", ") + one;
  return all;
}

Reply usage_error(std::string code, std::string message, std::string hint) {
  Reply reply = fail(base::make_error(std::move(code), std::move(message), std::move(hint)));
  reply.exit_code = 2;
  return reply;
}

Reply jobs_list(const JobsRequest& request) {
  store::Filter filter;
  filter.words = request.what;
  filter.removed = request.arguments.has("all");
  for (const auto& [name, day] : {std::pair{"since", &filter.since}, std::pair{"until", &filter.until}}) {
    const base::Result<std::string> told = day_option(request.arguments, name);
    if (!told) return fail(told.diagnostics());
    *day = *told;
  }
  const base::Result<std::vector<store::JobHead>> heads = request.book.list(filter);
  if (!heads) return fail(heads.diagnostics());
  Reply reply;
  reply.result["jobs"] = Json::array();
  for (const store::JobHead& head : *heads) {
    reply.result["jobs"].push_back(job_head_json(head));
    reply.text += job_head_text(head);
  }
  if (heads->size() == filter.most)
    reply.diagnostics.push_back(base::make_warning("jobs.more",
                                                   "only the newest " + std::to_string(filter.most) + " are shown",
                                                   "narrow it with find, --since, --until"));
  const bool asked = !filter.words.empty() || !filter.since.empty() || !filter.until.empty();
  if (heads->empty())
    reply.text =
        asked ? "no job fits\n" : "the book is empty; open the first: halfsplit open shelf:NAME --complaint \"...\"\n";
  return reply;
}

Reply jobs_show(const JobsRequest& request) {
  const base::Result<double> event = number_option(request.arguments, "event", 0.0, 1.0, 1e9);
  if (!event) return fail(event.diagnostics());
  const base::Result<store::StoredJob> stored = request.book.read(request.id, static_cast<std::int64_t>(*event));
  if (!stored) return fail(stored.diagnostics());
  const base::Result<std::string> text = formats::write_job_text(stored->job);
  if (!text) return fail(text.diagnostics());
  const job::Job& job = stored->job;
  Reply reply;
  reply.result = {{"job", request.job()},
                  {"event", stored->head},
                  {"removed", stored->removed},
                  {"loom", job.loom},
                  {"vehicle", job.vehicle},
                  {"customer", job.customer},
                  {"complaint", job.complaint},
                  {"opened_at", job.opened_at},
                  {"closed_at", job.closed_at},
                  {"entries", Json::array()},
                  {"text", *text}};
  reply.text = request.job() + " after event " + std::to_string(stored->head) +
               (stored->removed ? " (taken out)" : "") + "\n  complaint  " + wrap(job.complaint, 13) + "\n";
  if (!job.vehicle.empty()) reply.text += "  vehicle    " + wrap(job.vehicle, 13) + "\n";
  if (!job.customer.empty()) reply.text += "  customer   " + wrap(job.customer, 13) + "\n";
  reply.text += "  loom       " + job.loom + "\n";
  for (const job::Entry& entry : job.entries) {
    reply.result["entries"].push_back(entry_json(entry));
    reply.text += entry_line(entry);
  }
  if (!job.closed_at.empty()) reply.text += "  closed at " + job.closed_at + "\n";
  return reply;
}

Reply jobs_history(const JobsRequest& request) {
  const base::Result<std::vector<store::Event>> events = request.book.events(request.id);
  if (!events) return fail(events.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"events", Json::array()}};
  for (const store::Event& event : *events) {
    const std::string words = store::event_words(event);
    reply.result["events"].push_back({{"event", event.seq}, {"at", event.at}, {"kind", event.kind}, {"words", words}});
    reply.text +=
        "  " + padded(std::to_string(event.seq), 5) + padded(event.at, 22) +
        (words.empty() ? event.kind : padded(event.kind + (event.kind.size() > 9 ? " " : ""), 10) + wrap(words, 39)) +
        "\n";
  }
  reply.text += "As it was then: halfsplit jobs show " + std::to_string(request.id) + " --event N\n";
  return reply;
}

namespace {

Reply jobs_set_removed(const JobsRequest& request, bool removed) {
  const base::Result<bool> changed = request.book.set_removed(request.id, removed, request.context.book->now());
  if (!changed) return fail(changed.diagnostics());
  Reply reply;
  reply.result = {{"job", request.job()}, {"removed", removed}, {"changed", *changed}};
  const std::string id = std::to_string(request.id);
  if (!*changed)
    reply.text = request.job() + (removed ? " was taken out before\n" : " is in the list\n");
  else
    reply.text = removed ? request.job() + " is out of the list; nothing is lost: halfsplit jobs restore " + id + "\n"
                         : request.job() + " is in the list again\n";
  return reply;
}

}  // namespace

Reply jobs_remove(const JobsRequest& request) { return jobs_set_removed(request, true); }
Reply jobs_restore(const JobsRequest& request) { return jobs_set_removed(request, false); }

Reply op_jobs(Context& context, const Arguments& arguments) {
  const std::string word = arguments.get("do", "list");
  const auto* const found =
      std::find_if(std::begin(kJobsWords), std::end(kJobsWords), [&](const JobsWord& one) { return one.word == word; });
  if (found == std::end(kJobsWords)) {
    std::vector<std::string> words;
    for (const JobsWord& one : kJobsWords) words.emplace_back(one.word);
    return usage_error("jobs.unknown-word", "jobs cannot \"" + word + "\"", words_hint(word, words));
  }
  if (context.book == nullptr)
    return fail(base::make_error("book.nowhere", "there is no book of jobs here", "use the command line"));
  const base::Result<store::Book*> book = context.book->book();
  if (!book) return fail(book.diagnostics());
  JobsRequest request{context, arguments, **book, 0, arguments.get("what")};
  if (found->wants_job) {
    const std::size_t cut = request.what.find(' ');
    const std::string number = request.what.substr(0, cut);
    request.id = job_number(number);
    if (request.id == 0)
      return usage_error("book.bad-number", "jobs " + word + " needs the number of a job, not \"" + number + "\"",
                         "halfsplit jobs " + word + " 7");
    request.what = cut == std::string::npos ? "" : request.what.substr(cut + 1);
  }
  return found->run(request);
}

}  // namespace halfsplit::app
