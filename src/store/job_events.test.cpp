// SPDX-License-Identifier: Apache-2.0
#include "store/job_events.h"

#include <gtest/gtest.h>

#include "base/rng.h"

namespace halfsplit::store {
namespace {

job::Job first_job() {
  job::Job job;
  job.loom = "shelf:gritter";
  job.loom_print = "0123";
  job.complaint = "gauge dead";
  job.opened_at = "2024-05-06T07:08:09Z";
  job.drawn = {{"wire W1", "aa"}, {"element B7", "bb"}};
  return job;
}

job::Entry entry(int number, std::string verb, std::string what) {
  job::Entry made;
  made.number = number;
  made.at = "2024-05-06T07:08:09Z";
  made.verb = std::move(verb);
  made.what = std::move(what);
  return made;
}

std::vector<std::string> kinds(const std::vector<Event>& events) {
  std::vector<std::string> names;
  for (const Event& event : events) names.push_back(event.kind);
  return names;
}

job::Job added(job::Job job, const std::vector<Event>& events) {
  for (const Event& event : events) EXPECT_TRUE(apply(job, event).ok()) << event.kind << " " << event.body;
  return job;
}

TEST(JobEvents, SayWhatWasDone) {
  const job::Job opened = first_job();
  EXPECT_EQ(kinds(diff({}, opened)), (std::vector<std::string>{"opened"}));
  job::Job next = opened;
  next.entries = {entry(1, "did", "key-on"), entry(2, "saw", "ohms A B")};
  next.entries[1].shows = "121.7";
  EXPECT_EQ(kinds(diff(opened, next)), (std::vector<std::string>{"entry", "entry"}));
  EXPECT_EQ(event_words(diff(opened, next).back()), "2  saw ohms A B  121.7");
  job::Job taken_back = next;
  taken_back.entries[1].struck = true;
  taken_back.entries[1].struck_at = "2024-05-06T08:00:00Z";
  EXPECT_EQ(kinds(diff(next, taken_back)), (std::vector<std::string>{"struck"}));
  EXPECT_EQ(kinds(diff(taken_back, next)), (std::vector<std::string>{"again"}));
  job::Job closed = next;
  closed.closed_at = "2024-05-06T09:00:00Z";
  EXPECT_EQ(kinds(diff(next, closed)), (std::vector<std::string>{"closed"}));
  EXPECT_EQ(kinds(diff(closed, next)), (std::vector<std::string>{"reopened"}));
  EXPECT_TRUE(diff(next, next).empty());
}

TEST(JobEvents, WhatNobodyKnowsYetLeavesTheJobAsItIs) {
  job::Job job = first_job();
  EXPECT_TRUE(apply(job, {7, "", "of-a-later-version", "{\"x\":1}"}).ok());
  EXPECT_EQ(job, first_job());
}

TEST(JobEvents, ABodyThatCannotBeReadIsRefusedAndChangesNothing) {
  job::Job job = first_job();
  for (const char* body : {"", "{", "[]", "{\"n\":\"one\"}", "{\"n\":1}"}) {
    const auto done = apply(job, {3, "", "entry", body});
    ASSERT_FALSE(done.ok()) << body;
    EXPECT_EQ(done.diagnostics().front().code, "book.bad-event");
  }
  EXPECT_EQ(job, first_job());
}

// One change, of any kind a job file can show: also those no command makes today.
void edit(job::Job& job, base::Rng& rng, int step) {
  const std::string word = "w\xC3\xA4ste \"" + std::to_string(step) + "\"\n";
  switch (rng.below(16)) {
    case 0:
      job.vehicle = word;
      break;
    case 1:
      job.customer = rng.chance(0.5) ? "" : word;
      break;
    case 2:
      job.complaint = word;
      break;
    case 3:
      job.loom = "shelf:" + std::to_string(step);
      job.drawn.emplace_back(word, "p");
      break;
    case 4:
      job.kit.resistors.push_back("1k");
      job.kit.scope = !job.kit.scope;
      break;
    case 5:
      job.kit.money_per_hour = rng.uniform(0.0, 200.0);
      break;
    case 6:
      if (job.meter) {
        job.meter.reset();
        break;
      }
      job.meter = meters::MeterProfile{};
      job.meter->lead_ohm = rng.uniform();
      job.meter->clamp.push_back({1000.0, 3.0, 5.0, rng.uniform()});
      break;
    case 7:
      job.skipped.push_back(word);
      break;
    case 8:
      job.skipped.clear();
      break;
    case 9:
      job.asked = job::Asked{word, {"cab-raised", word}, rng.uniform()};
      break;
    case 10:
      job.asked.reset();
      break;
    case 11:
      job.closed_at = job.closed_at.empty() ? "2024-05-06T09:00:00Z" : "";
      break;
    case 12:
      if (job.entries.empty()) break;
      {
        job::Entry& one = job.entries[rng.below(job.entries.size())];
        one.struck = !one.struck;
        one.struck_at = one.struck || rng.chance(0.1) ? "2024-05-06T08:00:00Z" : "";
      }
      break;
    case 13:
      if (rng.chance(0.3) && !job.entries.empty()) {
        if (rng.chance(0.5))
          job.entries.erase(job.entries.begin());
        else
          job.entries[rng.below(job.entries.size())].what = word;
      }
      break;
    default:
      job.entries.push_back(entry(rng.chance(0.05) ? 1 : step + 2, rng.chance(0.5) ? "saw" : "note", word));
      job.entries.back().minutes = rng.chance(0.5) ? 0.0 : rng.uniform();
      job.entries.back().struck = rng.chance(0.1);
  }
}

TEST(JobEvents, AddUpToTheJobWhateverWasChanged) {
  constexpr std::uint64_t kSeed = 20240611;
  SCOPED_TRACE("seed " + std::to_string(kSeed));
  base::Rng rng(kSeed);
  for (int run = 0; run < 150; ++run) {
    job::Job now = first_job();
    job::Job sum = added({}, diff({}, now));
    for (int step = 0; step < 30; ++step) {
      job::Job next = now;
      for (std::size_t edits = 1 + rng.below(3); edits > 0; --edits) edit(next, rng, step);
      sum = added(std::move(sum), diff(now, next));
      ASSERT_TRUE(sum == next) << "run " << run << " step " << step;
      now = std::move(next);
    }
  }
}

}  // namespace
}  // namespace halfsplit::store
