// SPDX-License-Identifier: Apache-2.0
#include "store/book.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>

#include "store/schema.h"

namespace halfsplit::store {
namespace {

namespace fs = std::filesystem;

constexpr const char* kDay = "2024-05-06T07:08:09Z";

class BookTest : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halfsplit-book-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    root_ = pattern;
    folder_ = root_ / "a" / "book";
  }
  void TearDown() override { fs::remove_all(root_); }

  std::unique_ptr<Book> open() {
    auto book = Book::open(folder_.string());
    EXPECT_TRUE(book.ok()) << base::format_diagnostics(book.diagnostics());
    return book.ok() ? std::move(book).value() : nullptr;
  }
  static job::Job job_of(const std::string& complaint) {
    job::Job job;
    job.loom = "shelf:gritter";
    job.complaint = complaint;
    job.opened_at = kDay;
    return job;
  }
  static std::int64_t put(Book& book, const job::Job& job, const std::string& at = kDay) {
    const std::int64_t id = *book.reserve();
    EXPECT_TRUE(book.write(id, 0, {}, job, at).ok());
    return id;
  }
  // A further state of a job, written on top of what is there.
  static void go_on(Book& book, std::int64_t id, const job::Job& next, const std::string& at = kDay) {
    const auto stored = book.read(id);
    ASSERT_TRUE(stored.ok());
    ASSERT_TRUE(book.write(id, stored->head, stored->job, next, at).ok());
  }
  static mode_t mode(const fs::path& path) {
    struct stat found {};
    return ::stat(path.c_str(), &found) == 0 ? found.st_mode & 0777U : 0U;
  }
  static std::string code_of(const std::vector<base::Diagnostic>& diagnostics) {
    return diagnostics.empty() ? "" : diagnostics.front().code;
  }

  fs::path root_, folder_;
};

TEST_F(BookTest, KeepsJobsForTheOwnerOnly) {
  auto book = open();
  const std::int64_t id = put(*book, job_of("gauge dead"));
  job::Job next = job_of("gauge dead");
  next.entries.push_back({1, kDay, "saw", "ohms J4:12 J4:13", "121.7", 2.0, false, ""});
  go_on(*book, id, next);
  book.reset();
  EXPECT_EQ(mode(folder_), 0700U);
  EXPECT_EQ(mode(folder_ / "book.sqlite"), 0600U);
  book = open();
  EXPECT_EQ(book->read(id)->job, next);
  EXPECT_EQ(book->read(id, 1)->job, job_of("gauge dead"));
  EXPECT_EQ(code_of(book->read(id, 9).diagnostics()), "book.no-event");
  EXPECT_EQ(code_of(book->read(77).diagnostics()), "book.no-job");
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, AStepOnAJobThatHasGoneOnIsRefused) {
  const auto one = open();
  const auto two = open();
  const std::int64_t id = put(*one, job_of("x"));
  const auto seen = two->read(id);
  job::Job next = job_of("x");
  next.entries.push_back({1, kDay, "note", "from one", "", 0.0, false, ""});
  go_on(*one, id, next);
  job::Job late = job_of("x");
  late.entries.push_back({1, kDay, "note", "from two", "", 0.0, false, ""});
  EXPECT_EQ(code_of(two->write(id, seen->head, seen->job, late, kDay).diagnostics()), "job.moved");
  EXPECT_EQ(two->read(id)->job, next);
}

TEST_F(BookTest, NumbersAreNeverGivenTwice) {
  auto book = open();
  EXPECT_EQ(*book->reserve(), 1);
  EXPECT_EQ(*book->reserve(), 2);
  EXPECT_EQ(put(*book, job_of("x")), 3);
  book = open();
  EXPECT_EQ(*book->reserve(), 4);
  EXPECT_FALSE(*book->contains(4));
}

TEST_F(BookTest, TheLogCannotBeChanged) {
  const auto book = open();
  put(*book, job_of("x"));
  const Database other(book->path());
  EXPECT_THROW(other.run("UPDATE events SET body = '{}'"), SqlFailure);
  EXPECT_THROW(other.run("DELETE FROM events"), SqlFailure);
}

TEST_F(BookTest, IsSearched) {
  const auto book = open();
  job::Job gauge = job_of("Öldruck gauge dead");
  gauge.vehicle = "gritter 7";
  gauge.entries.push_back({1, kDay, "did", "repaired J4:12", "", 0.0, false, ""});
  gauge.entries.push_back({2, kDay, "note", "mud flap", "", 0.0, true, kDay});
  const std::int64_t first = put(*book, gauge);
  job::Job lamp = job_of("work lamp dim");
  lamp.closed_at = kDay;
  const std::int64_t second = put(*book, lamp, "2024-05-09T07:08:09Z");
  const auto found = [&](const std::string& words, const std::string& since = "", const std::string& until = "") {
    std::vector<std::int64_t> ids;
    const auto heads = book->list({words, since, until, false, 100});
    EXPECT_TRUE(heads.ok()) << base::format_diagnostics(heads.diagnostics());
    for (const JobHead& head : *heads) ids.push_back(head.id);
    return ids;
  };
  using Ids = std::vector<std::int64_t>;
  EXPECT_EQ(found(""), (Ids{first, second})) << "open ones first";
  EXPECT_EQ(found("oldruck"), Ids{first});
  EXPECT_EQ(found("J4:12 gau"), Ids{first});
  EXPECT_EQ(found("gauge lamp"), Ids{});
  EXPECT_EQ(found("mud"), Ids{}) << "taken back";
  EXPECT_EQ(found("\"( OR NEAR *"), Ids{}) << "no query language of SQLite";
  EXPECT_EQ(found("", "2024-05-07"), Ids{second});
  EXPECT_EQ(found("", "", "2024-05-06").size(), 2U);
  EXPECT_EQ(found("", "", "2024-05-05"), Ids{});
  EXPECT_TRUE(*book->set_removed(first, true, kDay));
  EXPECT_FALSE(*book->set_removed(first, true, kDay));
  EXPECT_EQ(found("gauge"), Ids{});
  EXPECT_TRUE(*book->set_removed(first, false, kDay));
  EXPECT_EQ(found("gauge"), Ids{first});
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, AnOlderBookIsBroughtUpToDate) {
  fs::create_directories(folder_);
  {
    const Database old((folder_ / "book.sqlite").string());
    old.run(schema_steps()[0]);
    old.run(
        "PRAGMA user_version = 1;"
        "INSERT INTO jobs VALUES(4, 2, 'shelf:gritter', 'old lorry', '', 'gauge dead', '', '', '2020-01-01T00:00:00Z', "
        "0);"
        "INSERT INTO events VALUES(4, 1, '', 'opened', "
        "'{\"loom\":\"shelf:gritter\",\"vehicle\":\"old lorry\",\"complaint\":\"gauge dead\"}');"
        "INSERT INTO events VALUES(4, 2, '', 'entry', '{\"n\":1,\"at\":\"\",\"verb\":\"note\",\"what\":\"rusty\"}');");
  }
  const auto book = open();
  ASSERT_NE(book, nullptr);
  EXPECT_EQ(book->list({"rusty lorry", "", "", false, 10})->size(), 1U);
  EXPECT_EQ(book->read(4)->job.entries.size(), 1U);
  EXPECT_EQ(*book->reserve(), 5);
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, ANewerBookIsRefusedAndLeftAlone) {
  open();
  Database((folder_ / "book.sqlite").string()).run("PRAGMA user_version = 99");
  const auto refused = Book::open(folder_.string());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(code_of(refused.diagnostics()), "book.newer");
  EXPECT_EQ(Database((folder_ / "book.sqlite").string()).number("PRAGMA user_version"), 99);
}

TEST_F(BookTest, WhatIsNoBookIsRefused) {
  fs::create_directories(folder_);
  std::ofstream(folder_ / "book.sqlite") << std::string(5000, 'x');
  EXPECT_EQ(code_of(Book::open(folder_.string()).diagnostics()), "book.damaged");
  EXPECT_EQ(code_of(Book::open("/proc/no/such").diagnostics()), "book.unwritable");
}

// What a kill leaves beside the book makes the next opening look at its pages.
TEST_F(BookTest, DamageIsFoundWhenOpeningAfterAKill) {
  auto book = open();
  for (int i = 0; i < 20; ++i) put(*book, job_of(std::string(3000, 'x')));
  book.reset();  // everything is in the one file now
  book = open();
  put(*book, job_of("y"));  // and this beside it
  const fs::path killed = root_ / "killed";
  fs::create_directories(killed);
  for (const char* name : {"book.sqlite", "book.sqlite-wal"}) fs::copy_file(folder_ / name, killed / name);
  EXPECT_TRUE(Book::open(killed.string()).ok());
  fs::copy_file(folder_ / "book.sqlite-wal", killed / "book.sqlite-wal", fs::copy_options::overwrite_existing);
  std::fstream file(killed / "book.sqlite", std::ios::binary | std::ios::in | std::ios::out);
  for (std::streamoff page = 4; page < 30; ++page) file.seekp(page * 4096) << std::string(64, '\xFF');
  file.close();
  EXPECT_EQ(code_of(Book::open(killed.string()).diagnostics()), "book.damaged");
}

TEST_F(BookTest, TheCheckFindsAGapAndAListThatLies) {
  const auto book = open();
  const std::int64_t id = put(*book, job_of("x"));
  go_on(*book, id, job_of("y"));
  go_on(*book, id, job_of("z"));
  const Database other(book->path());
  other.run("UPDATE jobs SET complaint = 'other'");
  EXPECT_EQ(book->check()->size(), 1U);
  other.run("DROP TRIGGER events_are_kept; DELETE FROM events WHERE seq = 2");
  ASSERT_EQ(book->check()->size(), 1U);
  EXPECT_NE(book->check()->front().find("event 2 is missing"), std::string::npos);
}

TEST_F(BookTest, ABackupIsAWholeBook) {
  const auto book = open();
  const std::int64_t id = put(*book, job_of("gauge dead"));
  const auto bytes = book->backup();
  ASSERT_TRUE(bytes.ok());
  const fs::path elsewhere = root_ / "copy";
  fs::create_directories(elsewhere);
  std::ofstream(elsewhere / "book.sqlite", std::ios::binary) << *bytes;
  const auto copy = Book::open(elsewhere.string());
  ASSERT_TRUE(copy.ok()) << base::format_diagnostics(copy.diagnostics());
  EXPECT_EQ((*copy)->read(id)->job, job_of("gauge dead"));
  EXPECT_TRUE((*copy)->check()->empty());
}

TEST_F(BookTest, LessonsGoWithTheirJob) {
  const auto book = open();
  const std::int64_t id = put(*book, job_of("x"));
  const std::vector<Lesson> lessons{{Lesson::Scope::kItem, "J4:12 open", 1, 0},
                                    {Lesson::Scope::kKind, "contact/open", 1, 700}};
  job::Job closed = job_of("x");
  closed.closed_at = kDay;
  const Taught taught{"gritter", lessons};
  ASSERT_TRUE(book->write(id, book->read(id)->head, job_of("x"), closed, kDay, &taught).ok());
  ASSERT_TRUE(book->write(id, book->read(id)->head, closed, closed, kDay, &taught).ok());
  EXPECT_EQ(book->learned()->size(), 2U) << "the same job again is no second lesson";
  EXPECT_TRUE(*book->set_forgotten(id, true, kDay));
  EXPECT_TRUE(book->learned()->front().forgotten);
  EXPECT_TRUE(*book->set_forgotten(id, false, kDay));
  EXPECT_FALSE(book->learned()->front().forgotten);
  EXPECT_TRUE(*book->set_removed(id, true, kDay));
  EXPECT_TRUE(book->learned()->empty());
  EXPECT_TRUE(*book->set_removed(id, false, kDay));
  go_on(*book, id, job_of("x"));
  EXPECT_TRUE(book->learned()->empty()) << "open again";
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, ClosedAndLearnedIsOneStep) {
  const auto book = open();
  const std::int64_t id = put(*book, job_of("x"));
  const Taught taught{"gritter", {{Lesson::Scope::kItem, "J4:12 open", 1, 0}}};
  job::Job closed = job_of("x");
  closed.closed_at = kDay;
  const std::int64_t head = book->read(id)->head;
  // What fails in the middle of it leaves neither.
  const Database other(book->path());
  other.run("CREATE TRIGGER stop BEFORE INSERT ON experience BEGIN SELECT RAISE(ABORT, 'stopped'); END");
  EXPECT_FALSE(book->write(id, head, job_of("x"), closed, kDay, &taught).ok());
  EXPECT_EQ(book->read(id)->job.closed_at, "");
  EXPECT_TRUE(book->learned()->empty());
  other.run("DROP TRIGGER stop");
  ASSERT_TRUE(book->write(id, head, job_of("x"), closed, kDay, &taught).ok());
  EXPECT_EQ(book->read(id)->job.closed_at, kDay);
  EXPECT_EQ(book->learned()->size(), 1U);
  EXPECT_EQ(book->events(id)->back().kind, "learned");
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, PhotosAreKnownByTheirBytes) {
  // FIPS 180-4 example: one block message "abc".
  EXPECT_EQ(sha256_hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(picture_type("\xFF\xD8\xFF\xE0"), "jpg");
  EXPECT_EQ(picture_type(std::string("RIFF\0\0\0\0WEBPVP8 ", 16)), "webp");
  EXPECT_EQ(picture_type("\x89PNG\r\n\x1A\n...."), "png");
  EXPECT_EQ(picture_type("GIF89a"), "");
  EXPECT_EQ(picture_type("RIFF"), "");
  const auto book = open();
  const std::int64_t id = put(*book, job_of("x"));
  const Photo photo{sha256_hex("abc"), "jpg", "plug.jpg", 3, 3, kDay, false};
  ASSERT_TRUE(book->add_photo(id, photo).ok());
  ASSERT_EQ(book->photos(id)->size(), 1U);
  EXPECT_EQ(book->photos(id)->front().entry, 3);
  EXPECT_TRUE(*book->set_photo_removed(id, photo.sha256, true, kDay));
  EXPECT_TRUE(book->photos(id)->front().removed);
  EXPECT_EQ(book->read(id)->job, job_of("x"));
  EXPECT_TRUE(book->check()->empty());
}

TEST_F(BookTest, RecordingsStayWithTheirJobAndKeepTheirName) {
  const auto book = open();
  const std::int64_t id = put(*book, job_of("x")), other = put(*book, job_of("y"));
  const Recording recording{sha256_hex("abc"), "run.log", 3, kDay, false};
  ASSERT_TRUE(book->add_recording(id, recording).ok());
  EXPECT_EQ(book->add_recording(99, recording).diagnostics().front().code, "book.no-job");
  EXPECT_TRUE(book->recordings(other)->empty());
  EXPECT_TRUE(*book->set_recording_removed(id, recording.sha256, true, kDay));
  EXPECT_FALSE(*book->set_recording_removed(id, recording.sha256, true, kDay)) << "it is";
  EXPECT_TRUE(book->recordings(id)->front().removed);
  Recording again = recording;
  again.name = "other.log";
  ASSERT_TRUE(book->add_recording(id, again).ok());
  ASSERT_EQ(book->recordings(id)->size(), 1U);
  EXPECT_EQ(book->recordings(id)->front().name, "run.log");
  EXPECT_FALSE(book->recordings(id)->front().removed);
  EXPECT_EQ(event_words(book->events(id)->back()), "other.log " + recording.sha256.substr(0, 12));
  EXPECT_EQ(book->read(id)->job, job_of("x"));
  EXPECT_TRUE(book->check()->empty());
}

}  // namespace
}  // namespace halfsplit::store
