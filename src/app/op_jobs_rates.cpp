// SPDX-License-Identifier: Apache-2.0
// `jobs rates`: what proven jobs have taught, which jobs, and forgetting one of them.
#include <algorithm>
#include <set>

#include "app/learned_rates.h"
#include "app/op_jobs.h"
#include "app/words.h"
#include "base/number.h"

namespace halfsplit::app {

namespace {

Json rate_json(const RateLine& line) {
  return {{"name", line.name},
          {"default_per_year", line.default_per_year},
          {"learned_per_year", line.learned_per_year},
          {"factor", line.learned_per_year / line.default_per_year},
          {"confirmed", line.confirmed},
          {"item_days", line.days},
          {"jobs", line.jobs}};
}

std::string rate_text(const RateLine& line) {
  std::string jobs;
  for (const std::int64_t job : line.jobs) jobs += (jobs.empty() ? "job " : ", ") + std::to_string(job);
  return "  " + padded(line.name, 34) + padded(base::format_significant(line.default_per_year, 3), 11) +
         padded(base::format_significant(line.learned_per_year, 3), 11) +
         padded("x" + base::format_significant(line.learned_per_year / line.default_per_year, 3), 8) + jobs + "\n";
}

// Each loom that taught something, by the path of a job that did.
std::vector<std::pair<std::string, std::string>> looms_of(const JobsRequest& request,
                                                          const std::vector<store::Learned>& learned) {
  std::vector<std::pair<std::string, std::string>> looms;
  std::set<std::string> known;
  for (const store::Learned& one : learned) {
    if (!known.insert(one.loom).second) continue;
    const base::Result<store::StoredJob> stored = request.book.read(one.job);
    if (stored) looms.emplace_back(one.loom, stored->job.loom);
  }
  return looms;
}

void tell_faults(const JobsRequest& request, const std::vector<store::Learned>& learned, Reply& reply) {
  for (const auto& [name, path] : looms_of(request, learned)) {
    const base::Result<std::shared_ptr<LoadedLoom>> loom = load_loom(request.context, path);
    if (!loom) {
      reply.diagnostics.push_back(base::make_warning(
          "jobs.loom-gone", "what was learned of " + name + " counts for nothing: " + path + " cannot be read", ""));
      continue;
    }
    const fault::Universe defaults = fault::make_universe((*loom)->loom, (*loom)->netlist);
    Json faults = Json::array();
    std::string text;
    for (const RateLine& line : learned_faults(learned, name, defaults)) {
      faults.push_back(rate_json(line));
      text += rate_text(line);
    }
    reply.result["looms"].push_back({{"loom", name}, {"path", path}, {"faults", faults}});
    reply.text += name + ", each on top of its kind:\n" + text;
  }
}

void tell_jobs(const std::vector<store::Learned>& all, Reply& reply) {
  std::set<std::int64_t> counted, forgotten;
  for (const store::Learned& one : all) (one.forgotten ? forgotten : counted).insert(one.job);
  reply.result["jobs"] = counted;
  reply.result["forgotten"] = forgotten;
  for (const std::int64_t job : forgotten)
    reply.text +=
        "job " + std::to_string(job) + " is forgotten; it counts again with --remember " + std::to_string(job) + "\n";
}

Reply forget(const JobsRequest& request, bool forgotten) {
  const std::string given = request.arguments.get(forgotten ? "forget" : "remember");
  const std::int64_t id = job_number(given);
  if (id == 0)
    return usage_error("book.bad-number", "\"" + given + "\" is no number of a job", "halfsplit jobs rates --forget 7");
  const base::Result<bool> changed = request.book.set_forgotten(id, forgotten, request.context.book->now());
  if (!changed) return fail(changed.diagnostics());
  if (!*changed)
    return fail(base::make_error(
        "jobs.no-lesson",
        "job " + std::to_string(id) + " teaches nothing that could be " + (forgotten ? "forgotten" : "remembered"),
        "halfsplit jobs rates shows which jobs do"));
  Reply reply;
  reply.result = {{"job", "book:" + std::to_string(id)}, {"forgotten", forgotten}};
  reply.text = "job " + std::to_string(id) +
               (forgotten ? " no longer counts for the rates; back: --remember " + std::to_string(id) + "\n"
                          : " counts for the rates again\n");
  return reply;
}

}  // namespace

Reply jobs_rates(const JobsRequest& request) {
  if (request.arguments.has("forget")) return forget(request, true);
  if (request.arguments.has("remember")) return forget(request, false);
  const base::Result<std::vector<store::Learned>> all = request.book.learned();
  if (!all) return fail(all.diagnostics());
  std::vector<store::Learned> learned = *all;
  std::erase_if(learned, [](const store::Learned& one) { return one.forgotten; });
  Reply reply;
  reply.result = {{"kinds", Json::array()}, {"looms", Json::array()}};
  std::vector<RateLine> kinds = learned_kinds(learned);
  std::stable_sort(kinds.begin(), kinds.end(),
                   [](const RateLine& a, const RateLine& b) { return a.confirmed > b.confirmed; });
  reply.text = learned.empty()
                   ? "nothing is learned yet: all rates are the defaults. Closing a proven job teaches them.\n"
                   : "kind of fault, per item and year      default    learned    factor  confirmed by\n";
  for (const RateLine& line : kinds) {
    reply.result["kinds"].push_back(rate_json(line));
    if (line.confirmed > 0 || request.arguments.has("all")) reply.text += rate_text(line);
  }
  const auto quiet =
      std::count_if(kinds.begin(), kinds.end(), [](const RateLine& line) { return line.confirmed == 0; });
  if (quiet > 0 && !request.arguments.has("all"))
    reply.text +=
        "  and " + std::to_string(quiet) + " kinds that have not come up: a little lower (--all shows them)\n";
  tell_faults(request, learned, reply);
  tell_jobs(*all, reply);
  return reply;
}

}  // namespace halfsplit::app
