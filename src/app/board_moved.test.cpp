// SPDX-License-Identifier: Apache-2.0
// A look at a job that somebody goes on with meanwhile stays a look.
#include <gtest/gtest.h>
#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>

#include "app/book_files.h"
#include "app/operation.h"
#include "base/fakes.h"

namespace halfsplit::app {
namespace {

namespace fs = std::filesystem;

// A clock that does something the next time it is read: the moment before a step is written.
class BusyClock final : public base::Clock {
 public:
  std::int64_t now_s() override {
    if (std::function<void()> act = std::exchange(then_, nullptr)) act();
    return 1'800'000'000;
  }
  void then(std::function<void()> act) { then_ = std::move(act); }

 private:
  std::function<void()> then_;
};

TEST(Board, IsShownAlthoughTheJobWentOnWhileItWasMade) {
  std::string folder = (fs::temp_directory_path() / "halfsplit-board-XXXXXX").string();
  ASSERT_NE(::mkdtemp(folder.data()), nullptr);
  {
    base::MemoryFiles beneath;
    BusyClock clock;
    BookFiles files(beneath, clock, folder);
    std::ostringstream loom;
    loom << std::ifstream("examples/gritter/gritter.loom.toml").rdbuf();
    ASSERT_TRUE(files.write("shelf:gritter", loom.str()).ok());
    const std::shared_ptr<Cache> cache = make_cache();
    Context context{files, clock, *cache, nullptr, {}, {}};
    context.book = &files;
    // Somebody else has the same book open.
    base::FixedClock other_clock{1'800'000'000};
    BookFiles other_files(beneath, other_clock, folder);
    const std::shared_ptr<Cache> other_cache = make_cache();
    Context other{other_files, other_clock, *other_cache, nullptr, {}, {}};
    other.book = &other_files;
    const auto run_as = [](Context& who, const std::string& name, const std::map<std::string, std::string>& values) {
      Arguments arguments;
      for (const auto& [key, value] : values) arguments.add(key, value);
      return run_operation(who, name, arguments);
    };
    const auto run = [&](const std::string& name, const std::map<std::string, std::string>& values) {
      return run_as(context, name, values);
    };
    const std::string job =
        run("open", {{"loom", "shelf:gritter"}, {"complaint", "x"}}).result["job"].get<std::string>();
    ASSERT_EQ(run("saw", {{"job", job}, {"what", "code SPN 520210 FMI 3"}, {"shows", "active"}}).exit_code, 0);
    bool went_on = false;
    clock.then([&] { went_on = run_as(other, "note", {{"job", job}, {"what", "driver rings"}}).exit_code == 0; });
    const Reply board = run("board", {{"job", job}});
    EXPECT_TRUE(went_on) << "the board writes what it proposes";
    EXPECT_EQ(board.exit_code, 0) << base::format_diagnostics(board.diagnostics);
    EXPECT_TRUE(board.result.contains("next"));
    EXPECT_NE(other_files.read(job, 1 << 20).value().find("driver rings"), std::string::npos);
  }
  fs::remove_all(folder);
}

}  // namespace
}  // namespace halfsplit::app
