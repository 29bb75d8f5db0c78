// SPDX-License-Identifier: Apache-2.0
#include "http/runs.h"

#include <gtest/gtest.h>

#include <atomic>
#include <cstdlib>
#include <filesystem>
#include <future>

#include "app/book_files.h"
#include "base/fakes.h"
#include "http/connections.h"
#include "system/posix_files.h"

namespace halfsplit::http {
namespace {

constexpr const char* kLoom = R"(loom = 1
name = "invented"
[places.cab]
)";

class RunsTest : public ::testing::Test {
 protected:
  std::string run(const std::string& operation, const std::vector<std::pair<std::string, std::string>>& values) {
    std::promise<std::string> reply;
    app::Arguments arguments;
    for (const auto& [name, value] : values) arguments.add(name, value);
    EXPECT_TRUE(
        runs_.submit({operation, arguments, {}, [&](std::string bytes) { reply.set_value(std::move(bytes)); }}));
    return reply.get_future().get();
  }

  ~RunsTest() override {
    runs_.stop();
    std::filesystem::remove_all(folder_);
  }

  void put_on_shelf() {
    app::BookFiles files(disk_, clock_, folder_);
    ASSERT_TRUE(files.write("shelf:x", kLoom).ok());
  }
  static std::string make_folder() {
    std::string name = ::testing::TempDir() + "halfsplit-runs-XXXXXX";
    return ::mkdtemp(name.data()) == nullptr ? "" : name;
  }
  std::string folder_ = make_folder();
  system::PosixFiles disk_;
  base::FixedClock clock_{1'700'000'000};
  Events events_;
  Runs runs_{{2, disk_, clock_, folder_, ""}, events_};
};

TEST_F(RunsTest, GivesTheBytesOfTheReply) {
  put_on_shelf();
  app::Arguments arguments;
  arguments.add("loom", "shelf:x");
  const std::shared_ptr<app::Cache> cache = app::make_cache();
  app::BookFiles files(disk_, clock_, folder_);
  app::Context context{files, clock_, *cache, nullptr, {}, {}};
  EXPECT_EQ(run("check", {{"loom", "shelf:x"}}), app::to_json_text(app::run_operation(context, "check", arguments)));
}

TEST_F(RunsTest, NoFileOfTheMachineIsReached) {
  for (const char* path : {"/etc/passwd", "../x", "file:/etc/passwd", "mem:x", "shelf:../x", "shelf:a/b", "shelf:.x",
                           "book:a\\b", " shelf:x", "SHELF:x", "shelf:book:1", "shelf:\x01"})
    EXPECT_NE(run("check", {{"loom", path}}).find("the page reaches no file"), std::string::npos) << path;
  put_on_shelf();
  const std::string written = run("wires", {{"loom", "shelf:x"}, {"out", "/tmp/halfsplit-never"}});
  EXPECT_NE(written.find("file.outside"), std::string::npos) << written;
  EXPECT_FALSE(disk_.exists("/tmp/halfsplit-never"));
}

// Forty entries sent at once to one job: each run reads what the one before wrote, so that none is lost.
TEST_F(RunsTest, EntriesOfOneJobComeOneAfterTheOther) {
  put_on_shelf();
  const std::string opened = run("open", {{"loom", "shelf:x"}, {"complaint", "c"}, {"vehicle", "v"}});
  ASSERT_NE(opened.find("\"ok\":true"), std::string::npos) << opened;
  std::atomic<int> done{0};
  std::promise<void> all;
  for (int i = 0; i < 40; ++i) {
    app::Arguments arguments;
    arguments.add("job", "book:1");
    arguments.add("what", "note " + std::to_string(i));
    ASSERT_TRUE(runs_.submit({"note", arguments, {}, [&](const std::string&) {
                                if (++done == 40) all.set_value();
                              }}));
  }
  all.get_future().get();
  const std::string status = run("status", {{"job", "book:1"}});
  for (int i = 0; i < 40; ++i) EXPECT_NE(status.find("\"note " + std::to_string(i) + "\""), std::string::npos) << i;
}

TEST_F(RunsTest, WhatIsCancelledBeforeItBeganSaysSo) {
  base::CancelToken cancel;
  cancel.cancel();
  std::promise<std::string> reply;
  ASSERT_TRUE(runs_.submit({"check", {}, cancel, [&](std::string bytes) { reply.set_value(std::move(bytes)); }}));
  EXPECT_NE(reply.get_future().get().find("run.cancelled"), std::string::npos);
}

TEST_F(RunsTest, AChangedJobIsToldAndAnUnchangedOneIsNot) {
  put_on_shelf();
  std::atomic<int> woken{0};
  const std::shared_ptr<Listener> listener = events_.listen("book:1", 1, [&] { ++woken; });
  std::string text(4096, '\0');
  bool ended = false;
  (void)listener->take(text.data(), text.size(), ended);
  ASSERT_TRUE(listener->fall_asleep());
  (void)run("open", {{"loom", "shelf:x"}, {"complaint", "c"}});
  text.resize(listener->take(text.data(), text.size(), ended));
  EXPECT_EQ(text, "event: changed\ndata: {\"job\":\"book:1\",\"path\":\"book:1\"}\n\n");
  EXPECT_EQ(woken, 1);
  (void)run("status", {{"job", "book:1"}});
  (void)run("note", {{"job", "book:2"}, {"what", "no such job"}});
  EXPECT_TRUE(listener->fall_asleep()) << "nothing else was told";
  events_.end_session(1);
  EXPECT_EQ(woken, 2);
  (void)listener->take(text.data(), text.size(), ended);
  EXPECT_TRUE(ended);
  events_.forget(listener);
}

TEST(Listener, WhoNeverReadsIsLetGo) {
  Events events;
  const std::shared_ptr<Listener> listener = events.listen("", 1, [] {});
  const std::string data(1000, 'x');
  for (int i = 0; i < 10'000; ++i) events.tell("", "progress", data);
  std::string text(1 << 20U, '\0');
  bool ended = false;
  EXPECT_EQ(listener->take(text.data(), text.size(), ended), 0U);
  EXPECT_TRUE(ended);
  events.forget(listener);
}

TEST(Connections, OneAddressCannotTakeAll) {
  Connections connections;
  int opened = 0;
  for (int socket = 10'000; connections.may_open("10.0.0.1"); ++socket, ++opened)
    connections.opened(socket, "10.0.0.1", 0);
  EXPECT_EQ(opened, 64);
  EXPECT_TRUE(connections.may_open("10.0.0.2"));
}

TEST(Connections, ADeadlineCountsFromTheBeginning) {
  Connections connections;
  connections.opened(-1, "10.0.0.1", 0);
  connections.enter(-1, Phase::kReading, 0);
  EXPECT_EQ(connections.look_after(9'999), 0U);
  EXPECT_EQ(connections.look_after(10'000), 1U);
  EXPECT_EQ(connections.look_after(20'000), 0U) << "once is enough";
  connections.opened(-2, "10.0.0.1", 0);
  connections.enter(-2, Phase::kReadingMuch, 9'000);
  EXPECT_EQ(connections.look_after(119'999), 0U);
  EXPECT_EQ(connections.look_after(120'000), 1U);
}

}  // namespace
}  // namespace halfsplit::http
