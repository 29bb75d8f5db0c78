// SPDX-License-Identifier: Apache-2.0
// The job file: what it means, what is refused and how it is said, and that nothing is lost in writing.
#include "formats/job_text.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <tuple>

#include "base/rng.h"
#include "formats/timestamp.h"

namespace halfsplit::formats {
namespace {

constexpr const char* kWhole = R"toml(job = 1
loom = "rear.loom.toml"
loom_print = "5f3a"
vehicle = "Demo tipper 1 (invented)"
complaint = "left tail lamp dark"
customer = "gravel pit"
opened_at = "2024-05-06T07:08:09Z"
closed_at = "2024-05-06T09:00:00Z"
skipped = ["volts S5 G1"]

[kit]
resistors = ["120R", "4k7"]
clamp = false
money_per_hour = 75
fetch_minutes = 45
road_minutes = 80

[asked]
what = "volts J4:12@cab G1"
first = ["cab-raised", "unplug J4"]
minutes = 3.5

[[entry]]
n = 1
at = "2024-05-06T07:10:00Z"
saw = "lamp L3"
shows = "dark"

[[entry]]
n = 2
at = "2024-05-06T07:12:00Z"
did = "unplug J4"
minutes = 2
struck = true
struck_at = "2024-05-06T07:13:00Z"

[[entry]]
n = 5
at = "2024-05-06T07:20:00Z"
note = """
Loom rubbed through
at the frame."""

[drawn]
"part F3" = "5f3a"
"wire oil-temp.1" = "77c0"
)toml";

auto fields(const job::Entry& e) {
  return std::tie(e.number, e.at, e.verb, e.what, e.shows, e.minutes, e.struck, e.struck_at);
}
auto fields(const job::Kit& k) {
  return std::tie(k.resistors, k.meter, k.test_lamp, k.clamp, k.long_lead, k.reader, k.heat_gun, k.cold_spray, k.scope,
                  k.money_per_hour, k.fetch_minutes, k.road_minutes);
}
auto fields(const job::Asked& a) { return std::tie(a.what, a.first, a.minutes); }

void expect_same(const job::Job& a, const job::Job& b) {
  const auto head = [](const job::Job& j) {
    return std::tie(j.version, j.loom, j.loom_print, j.vehicle, j.complaint, j.customer, j.opened_at, j.closed_at,
                    j.drawn, j.skipped);
  };
  EXPECT_EQ(head(a), head(b));
  EXPECT_EQ(fields(a.kit), fields(b.kit));
  ASSERT_EQ(a.asked.has_value(), b.asked.has_value());
  if (a.asked) {
    EXPECT_EQ(fields(*a.asked), fields(*b.asked));
  }
  ASSERT_EQ(a.entries.size(), b.entries.size());
  for (std::size_t i = 0; i < a.entries.size(); ++i) EXPECT_EQ(fields(a.entries[i]), fields(b.entries[i])) << i;
}

base::Result<job::Job> read_back(const std::string& text) { return read_job_text("x.job.toml", text); }

// "code@line:column" of every error.
std::vector<std::string> errors(const std::string& text) {
  std::vector<std::string> list;
  const auto result = read_back(text);
  if (result.ok()) return list;
  for (const base::Diagnostic& one : result.diagnostics())
    if (one.severity == base::Severity::kError)
      list.push_back(one.code + "@" + std::to_string(one.where.line) + ":" + std::to_string(one.where.column));
  return list;
}
using Codes = std::vector<std::string>;

std::string said_of_job(const std::string& text) {
  const auto result = read_back(text);
  return result.ok() ? "" : base::format_diagnostics(result.diagnostics());
}

std::string with_entry(const std::string& keys) { return "job = 1\nloom = \"a\"\n[[entry]]\n" + keys; }

TEST(ReadJob, TakesEveryKey) {
  const auto job = read_back(kWhole);
  ASSERT_TRUE(job.ok()) << said_of_job(kWhole);
  EXPECT_EQ(job->loom, "rear.loom.toml");
  EXPECT_EQ(job->loom_print, "5f3a");
  EXPECT_EQ(job->complaint, "left tail lamp dark");
  EXPECT_EQ(job->opened_at, "2024-05-06T07:08:09Z");
  EXPECT_EQ(job->closed_at, "2024-05-06T09:00:00Z");
  EXPECT_EQ(job->skipped, Codes{"volts S5 G1"});
  EXPECT_EQ(job->kit.resistors, (Codes{"120R", "4k7"}));
  EXPECT_FALSE(job->kit.clamp);
  EXPECT_TRUE(job->kit.long_lead);
  EXPECT_EQ(job->kit.money_per_hour, 75.0);
  EXPECT_EQ(job->kit.fetch_minutes, 45.0);
  EXPECT_EQ(job->kit.road_minutes, 80.0);
  ASSERT_TRUE(job->asked);
  EXPECT_EQ(job->asked->first, (Codes{"cab-raised", "unplug J4"}));
  EXPECT_EQ(job->asked->minutes, 3.5);
  ASSERT_EQ(job->entries.size(), 3U);
  EXPECT_EQ(job->entries[0].verb, "saw");
  EXPECT_EQ(job->entries[0].shows, "dark");
  EXPECT_TRUE(job->entries[1].struck);
  EXPECT_EQ(job->entries[1].minutes, 2.0);
  EXPECT_EQ(job->entries[2].number, 5);
  EXPECT_EQ(job->drawn,
            (std::vector<std::pair<std::string, std::string>>{{"part F3", "5f3a"}, {"wire oil-temp.1", "77c0"}}));
  EXPECT_EQ(job->entries[2].what, "Loom rubbed through\nat the frame.");
}

TEST(ReadJob, LeavesDefaultsWhereNothingIsSaid) {
  const auto job = read_back("job = 1\nloom = \"a\"\n");
  ASSERT_TRUE(job.ok());
  expect_same(*job, [] {
    job::Job wanted;
    wanted.loom = "a";
    return wanted;
  }());
}

TEST(ReadJob, MinutesMayCarryTheirUnit) {
  const auto job = read_back(with_entry("n = 1\nat = \"2024-05-06T07:10:00Z\"\ndid = \"x\"\nminutes = \"90 s\"\n"));
  ASSERT_TRUE(job.ok());
  EXPECT_EQ(job->entries[0].minutes, 1.5);
}

TEST(ReadJob, AByteOrderMarkAndWindowsLineEndsAreFine) {
  std::string text = kWhole;
  for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2) text.replace(at, 1, "\r\n");
  EXPECT_TRUE(read_back("\xEF\xBB\xBF" + text).ok()) << said_of_job("\xEF\xBB\xBF" + text);
}

TEST(ReadJob, AllErrorsComeTogetherEachWithItsPlace) {
  EXPECT_EQ(errors("job = 1\n"
                   "lom = \"a\"\n"
                   "opened_at = \"yesterday\"\n"
                   "skipped = [\"a\", 3]\n"
                   "[kit]\n"
                   "clamp = \"no\"\n"
                   "resistors = [\"4k7\", \"4q7\"]\n"
                   "[[entry]]\n"
                   "n = 1\n"
                   "at = \"2024-05-06T07:10:00Z\"\n"
                   "minutes = nan\n"
                   "saw = \"volts S5 G1\"\n"
                   "[[entry]]\n"
                   "n = 1\n"
                   "at = \"2024-02-30T07:10:00Z\"\n"
                   "did = \"unplug J4\"\n"
                   "note = \"both\"\n"
                   "shows = \"3V\"\n"),
            (Codes{"job.missing-key@1:1", "job.unknown-key@2:1", "job.bad-time@3:13", "job.bad-type@4:17",
                   "job.bad-type@6:9", "job.bad-number@7:21", "job.bad-number@11:11", "job.duplicate-number@14:5",
                   "job.bad-time@15:6", "job.two-verbs@17:8", "job.key-does-not-fit@18:9"}));
}

TEST(ReadJob, ErrorsShowTheLineTheCaretAndWhatToDo) {
  EXPECT_EQ(said_of_job("job = 1\nloom = \"a\"\nvehicel = \"b\"\n"),
            "x.job.toml:3:1: error: `vehicel` is no key of the job [job.unknown-key]\n"
            "    vehicel = \"b\"\n"
            "    ^~~~~~~\n"
            "    hint: did you mean vehicle?\n");
}

TEST(ReadJob, ANewerFormatSaysWhatToDo) {
  const std::string text = "job = 2\nloom = \"a\"\nnew_key = 1\n";
  EXPECT_EQ(errors(text), Codes{"job.version@1:7"});  // and nothing about keys of that format
  EXPECT_NE(said_of_job(text).find("newer Halfsplit"), std::string::npos);
  EXPECT_EQ(errors("job = \"1\"\nloom = \"a\"\n"), Codes{"job.version@1:7"});
  EXPECT_EQ(errors("job = 0\nloom = \"a\"\n"), Codes{"job.version@1:7"});
}

TEST(ReadJob, ALoomIsRecognised) {
  EXPECT_EQ(errors("loom = 1\nname = \"x\"\n[parts.L1]\nkind = \"lamp\"\n"), Codes{"job.not-a-job@1:8"});
}

TEST(ReadJob, RefusesWhatIsNoText) {
  EXPECT_EQ(errors(""), Codes{"job.empty@0:0"});
  EXPECT_EQ(errors(" \n"), Codes{"job.empty@0:0"});
  EXPECT_EQ(errors("job = 1\nloom = \"\xE4\"\n"), Codes{"job.not-utf8@2:9"});
  EXPECT_EQ(errors("job = 1\n" + std::string(kMostJobBytes, '\n')), Codes{"job.too-large@0:0"});
}

TEST(ReadJob, NumbersOfEntriesArePlainAndAboveZero) {
  const auto code = [](const std::string& n) {
    return errors(with_entry("n = " + n + "\nat = \"2024-05-06T07:10:00Z\"\nnote = \"x\"\n"));
  };
  EXPECT_EQ(code("1"), Codes{});
  EXPECT_EQ(code("2147483647"), Codes{});
  EXPECT_EQ(code("0"), Codes{"job.out-of-range@4:5"});
  EXPECT_EQ(code("2147483648"), Codes{"job.out-of-range@4:5"});
  EXPECT_EQ(code("1.5"), Codes{"job.bad-type@4:5"});
  EXPECT_EQ(code("\"1\""), Codes{"job.bad-type@4:5"});
}

TEST(ReadJob, MinutesAreFiniteAndNotNegative) {
  for (const char* minutes : {"-1", "inf", "nan", "-inf", "1e7", "\"3 V\"", "true"})
    EXPECT_EQ(
        errors(with_entry("n = 1\nat = \"2024-05-06T07:10:00Z\"\nnote = \"x\"\nminutes = " + std::string(minutes)))
            .size(),
        1U)
        << minutes;
}

TEST(ReadJob, AnEntryNeedsItsKeysAndOneVerbWithWords) {
  EXPECT_EQ(errors(with_entry("struck = false\n")),
            (Codes{"job.missing-key@3:1", "job.missing-key@3:1", "job.missing-key@3:1"}));
  EXPECT_EQ(errors(with_entry("n = 1\nat = \"\"\nsaw = \"\"\n")), (Codes{"job.empty-text@5:6", "job.empty-text@6:7"}));
}

TEST(ReadJob, StruckAtBelongsToAStruckEntry) {
  EXPECT_EQ(errors(with_entry("n = 1\nat = \"2024-05-06T07:10:00Z\"\nnote = \"x\"\nstruck_at = "
                              "\"2024-05-06T07:10:00Z\"\n")),
            Codes{"job.key-does-not-fit@7:13"});
}

TEST(ReadJob, PrintsAreTexts) {
  EXPECT_EQ(errors("job = 1\nloom = \"a\"\n[drawn]\nF3 = 5\n"), Codes{"job.bad-type@4:6"});
  EXPECT_EQ(errors("job = 1\nloom = \"a\"\ndrawn = 5\n"), Codes{"job.bad-type@3:9"});
}

TEST(ReadJob, OneBracketTooFewIsExplained) {
  EXPECT_EQ(errors("job = 1\nloom = \"a\"\n[entry]\nn = 1\n"), Codes{"job.bad-type@3:1"});
}

TEST(ReadJob, ATimeWithoutQuotesIsExplained) {
  const std::string text = "job = 1\nloom = \"a\"\nopened_at = 2024-05-06T07:08:09Z\n";
  EXPECT_EQ(errors(text), Codes{"job.bad-type@3:13"});
  EXPECT_NE(said_of_job(text).find("quotes"), std::string::npos);
}

TEST(ReadJob, ABrokenLineDoesNotHideTheOthers) {
  const Codes found =
      errors("job = 1\nloom = \"a\nvehicle = 3\n[[entry]]\nn = 0\nat = \"2024-05-06T07:10:00Z\"\nnote = \"x\"\n");
  EXPECT_EQ(found, (Codes{"job.syntax@2:10", "job.bad-type@3:11", "job.out-of-range@5:5"}));
}

TEST(ReadJob, AKeyThatStandsTwiceIsNamed) {
  const std::string in_entry = with_entry("n = 1\nn = 2\nat = \"2024-05-06T07:10:00Z\"\nnote = \"x\"\n");
  EXPECT_EQ(errors(in_entry), Codes{"job.duplicate-key@5:1"});
  EXPECT_NE(said_of_job(in_entry).find("n stands twice in one entry"), std::string::npos) << said_of_job(in_entry);
  EXPECT_EQ(errors("job = 1\nloom = \"a\"\n[kit]\nmeter = true\nmeter = true\n"), Codes{"job.duplicate-key@5:1"});
}

TEST(ReadJob, ResistorsAreAboveNothing) {
  for (const char* ohm : {"0R", "-10R", "10V", "OL", "", "2G"})
    EXPECT_EQ(errors("job = 1\nloom = \"a\"\n[kit]\nresistors = [\"" + std::string(ohm) + "\"]\n").size(), 1U) << ohm;
}

// --- writing -------------------------------------------------------------------------------------------------------

TEST(WriteJob, IsReadable) {
  job::Job job = *read_back(kWhole);
  job.kit.resistors = {"120R"};
  const auto text = write_job_text(job);
  ASSERT_TRUE(text.ok());
  EXPECT_EQ(
      *text,
      R"toml(# A Halfsplit job, format 1: what was seen and done at one vehicle. Every key is explained in docs/formats/job.md.
# The program writes this file anew at every step: comments are not kept.
job = 1
loom = "rear.loom.toml"
loom_print = "5f3a"
vehicle = "Demo tipper 1 (invented)"
complaint = "left tail lamp dark"
customer = "gravel pit"
opened_at = "2024-05-06T07:08:09Z"
closed_at = "2024-05-06T09:00:00Z"
skipped = ["volts S5 G1"]

[kit]
resistors = ["120R"]
meter = true
test_lamp = true
clamp = false
long_lead = true
reader = true
heat_gun = true
cold_spray = false
scope = false
money_per_hour = 75
fetch_minutes = 45
road_minutes = 80

[asked]
what = "volts J4:12@cab G1"
first = ["cab-raised", "unplug J4"]
minutes = 3.5

[[entry]]
n = 1
at = "2024-05-06T07:10:00Z"
saw = "lamp L3"
shows = "dark"

[[entry]]
n = 2
at = "2024-05-06T07:12:00Z"
did = "unplug J4"
minutes = 2
struck = true
struck_at = "2024-05-06T07:13:00Z"

[[entry]]
n = 5
at = "2024-05-06T07:20:00Z"
note = """
Loom rubbed through
at the frame."""

[drawn]
"part F3" = "5f3a"
"wire oil-temp.1" = "77c0"
)toml");
}

job::Job with_note(const std::string& what) {
  job::Job job;
  job.loom = "a";
  job.entries.push_back({1, "2024-05-06T07:10:00Z", "note", what, "", 0.0, false, ""});
  return job;
}

TEST(WriteJob, RefusesWhatCouldNotBeReadAgain) {
  const auto code = [](const job::Job& job) {
    const auto text = write_job_text(job);
    return text.ok() ? std::string() : text.diagnostics().front().code;
  };
  EXPECT_EQ(code(with_note("fine")), "");
  EXPECT_EQ(code(with_note("\xFF")), "job.not-utf8");
  EXPECT_EQ(code(with_note("")), "job.empty-text");
  EXPECT_EQ(code(with_note(std::string(kMostJobBytes, 'x'))), "job.too-large");
  EXPECT_EQ(code(job::Job{}), "job.empty-text");  // no loom
  job::Job job = with_note("fine");
  job.entries[0].minutes = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(code(job), "job.bad-number");
  job = with_note("fine");
  job.entries[0].verb = "x = 1\nstruck";
  EXPECT_EQ(code(job), "job.bad-verb");
  job = with_note("fine");
  job.entries[0].at = "now";
  EXPECT_EQ(code(job), "job.bad-time");
  job = with_note("fine");
  job.entries.push_back(job.entries[0]);
  EXPECT_EQ(code(job), "job.duplicate-number");
  job = with_note("fine");
  job.entries[0].struck_at = job.entries[0].at;
  EXPECT_EQ(code(job), "job.key-does-not-fit");
  job = with_note("fine");
  job.drawn = {{"F3", "1"}, {"F3", "2"}};
  EXPECT_EQ(code(job), "job.duplicate-key");
  job = with_note("fine");
  job.version = 2;
  EXPECT_EQ(code(job), "job.version");
}

// --- random jobs ---------------------------------------------------------------------------------------------------

class RandomJob {
 public:
  explicit RandomJob(std::uint64_t seed) : rng_(seed) {}

  job::Job make() {
    job::Job job;
    job.loom = words();
    for (std::string* text : {&job.loom_print, &job.vehicle, &job.complaint, &job.customer})
      if (rng_.chance(0.7)) *text = words();
    if (rng_.chance(0.7)) job.opened_at = time();
    if (rng_.chance(0.3)) job.closed_at = time();
    job.skipped = list();
    if (rng_.chance(0.5)) job.kit = kit();
    if (rng_.chance(0.5)) job.asked = job::Asked{words(), list(), number(1.0e6)};
    int next = 1;
    for (std::size_t count = rng_.below(12); count > 0; --count) {
      next += static_cast<int>(rng_.below(rng_.chance(0.1) ? 1'000'000 : 2)) + 1;
      job.entries.push_back(entry(next));
    }
    for (std::size_t count = rng_.below(6); count > 0; --count)
      job.drawn.emplace_back(std::to_string(count) + words(), rng_.chance(0.9) ? words() : "");
    return job;
  }

 private:
  // Never empty. Everything that is hard to write down: quotes, escapes, line breaks, control characters, many scripts.
  std::string words() {
    static const std::vector<std::string> pieces = {"a",
                                                    "J4:12@cab",
                                                    " ",
                                                    "\"",
                                                    "\"\"\"",
                                                    "'",
                                                    "'''",
                                                    "\\",
                                                    "\\n",
                                                    "\n",
                                                    "\r\n",
                                                    "\r",
                                                    "\t",
                                                    "#",
                                                    "=",
                                                    "[x]",
                                                    "{",
                                                    "\x01",
                                                    "\x1F",
                                                    "\x7F",
                                                    "0",
                                                    "\xC3\xA4",
                                                    "nan",
                                                    "\xCE\xA9",
                                                    "true",
                                                    "\xE2\x84\xA6",
                                                    "\xE6\x97\xA5\xE6\x9C\xAC",
                                                    "\xF0\x9F\x9A\x9B",
                                                    "\xEF\xBF\xBF",
                                                    "\xE2\x80\xA8",
                                                    "\xEF\xBB\xBF",
                                                    "\xC2\x85",
                                                    "\"\n",
                                                    "\\\n  "};
    std::string text;
    const std::size_t count = 1 + rng_.below(rng_.chance(0.02) ? 4'000 : 12);
    for (std::size_t i = 0; i < count; ++i) text += pieces[rng_.below(pieces.size())];
    if (rng_.chance(0.05)) text += '\0';
    return text;
  }

  std::vector<std::string> list() {
    std::vector<std::string> list(rng_.below(4));
    for (std::string& one : list) one = words();
    return list;
  }

  std::string time() { return format_timestamp(static_cast<std::int64_t>(rng_.below(std::size_t{1} << 37U))); }

  double number(double most) {
    if (rng_.chance(0.3)) return static_cast<double>(rng_.below(100));
    return rng_.chance(0.5) ? rng_.log_uniform(1e-290, most) : rng_.uniform(0.0, most);
  }

  job::Kit kit() {
    job::Kit kit;
    kit.resistors.clear();
    for (std::size_t count = rng_.below(40); count > 0; --count)
      kit.resistors.push_back(std::to_string(1 + count) + "R");
    for (bool* flag : {&kit.meter, &kit.test_lamp, &kit.clamp, &kit.long_lead, &kit.reader, &kit.heat_gun,
                       &kit.cold_spray, &kit.scope})
      *flag = rng_.chance(0.5);
    kit.money_per_hour = number(1.0e9);
    kit.fetch_minutes = number(1.0e4);
    kit.road_minutes = number(1.0e4);
    return kit;
  }

  job::Entry entry(int n) {
    job::Entry entry;
    entry.number = n;
    entry.at = time();
    entry.verb = std::vector<std::string>{"saw", "did", "note"}[rng_.below(3)];
    entry.what = words();
    if (entry.verb == "saw" && rng_.chance(0.7)) entry.shows = words();
    if (rng_.chance(0.5)) entry.minutes = number(1.0e6);
    entry.struck = rng_.chance(0.2);
    if (entry.struck && rng_.chance(0.8)) entry.struck_at = time();
    return entry;
  }

  base::Rng rng_;
};

TEST(WriteJob, EveryJobSurvivesWritingAndReading) {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const job::Job job = RandomJob(seed).make();
    const auto text = write_job_text(job);
    ASSERT_TRUE(text.ok()) << base::format_diagnostics(text.diagnostics());
    const auto again = read_back(*text);
    ASSERT_TRUE(again.ok()) << base::format_diagnostics(again.diagnostics());
    expect_same(job, *again);
    EXPECT_EQ(*write_job_text(*again), *text);
    if (HasFailure()) break;
  }
}

}  // namespace
}  // namespace halfsplit::formats
