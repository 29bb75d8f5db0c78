// SPDX-License-Identifier: Apache-2.0
// Against the real file system, in a folder of its own below the system's temporary one. What happens when a write is
// killed is in tests/crash.
#include "system/posix_files.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>

namespace halfsplit::system {
namespace {

namespace fs = std::filesystem;

class PosixFilesTest : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halfsplit-files-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { fs::remove_all(folder_); }

  [[nodiscard]] std::string path(const std::string& name) const { return (folder_ / name).string(); }
  void put(const std::string& name, const std::string& text) const { std::ofstream(path(name)) << text; }
  [[nodiscard]] std::string get(const std::string& name) const {
    std::ifstream in(path(name), std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  [[nodiscard]] mode_t mode(const std::string& name) const {
    struct stat about {};
    EXPECT_EQ(::stat(path(name).c_str(), &about), 0);
    return about.st_mode & 07777;
  }
  // The first diagnostic, which there must be.
  template <class T>
  static base::Diagnostic problem(const base::Result<T>& result) {
    EXPECT_FALSE(result.ok());
    return result.ok() ? base::Diagnostic{} : result.diagnostics().front();
  }

  fs::path folder_;
  PosixFiles files_;
};

TEST_F(PosixFilesTest, ReplacedOnlyWhereItIsAsItWasRead) {
  put("a", "old");
  ASSERT_TRUE(files_.replace(path("a"), "old", "new").ok());
  EXPECT_EQ(get("a"), "new");
  for (const char* before : {"old", "ne", "newer", ""}) {
    EXPECT_EQ(problem(files_.replace(path("a"), before, "other")).code, "file.changed") << before;
    EXPECT_EQ(get("a"), "new");
  }
  EXPECT_EQ(problem(files_.replace(path("b"), "old", "new")).code, "file.missing");
  ASSERT_EQ(::symlink("a", path("link").c_str()), 0);
  ASSERT_TRUE(files_.replace(path("link"), "new", "newest").ok());
  EXPECT_EQ(get("a"), "newest");
}

TEST_F(PosixFilesTest, WhatIsWrittenIsReadBackByteForByte) {
  std::string text = "first\r\n\xFF\xFE";
  text += '\0';
  text += "behind a zero";
  ASSERT_TRUE(files_.write(path("a"), text).ok());
  const auto read = files_.read(path("a"), 1000);
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(*read, text);
  EXPECT_EQ(files_.list(folder_.string()), std::vector<std::string>{"a"});  // nothing is left beside it
}

TEST_F(PosixFilesTest, AnOpenFileIsReadBitByBit) {
  put("a", "0123456789");
  const auto opened = files_.open(path("a"));
  ASSERT_TRUE(opened.ok());
  base::ByteSource& bytes = **opened;
  EXPECT_EQ(bytes.size(), 10U);
  std::string four(4, ' ');
  EXPECT_EQ(bytes.read(four), 4U);
  EXPECT_EQ(four, "0123");
  EXPECT_EQ(bytes.taken(), 4U);
  std::string rest(100, ' ');
  EXPECT_EQ(bytes.read(rest), 6U);
  EXPECT_EQ(bytes.read(rest), 0U);
  EXPECT_FALSE(bytes.problem());
}

TEST_F(PosixFilesTest, WhatCannotBeOpenedIsSaid) {
  EXPECT_EQ(problem(files_.open(path("none"))).code, "file.missing");
  EXPECT_EQ(problem(files_.open(folder_.string())).code, "file.unreadable");
}

TEST_F(PosixFilesTest, ADashIsStandardInputOnlyWhereItIsOffered) {
  const fs::path before = fs::current_path();
  fs::current_path(folder_);
  EXPECT_EQ(problem(files_.open("-")).code, "file.missing");
  put("in", "typed");
  const int kept = ::dup(STDIN_FILENO);
  const int in = ::open("in", O_RDONLY | O_CLOEXEC);
  ::dup2(in, STDIN_FILENO);
  files_.offer_standard_input();
  const auto opened = files_.open("-");
  std::string text(10, ' ');
  text.resize((*opened)->read(text));
  ::dup2(kept, STDIN_FILENO);
  ::close(kept);
  ::close(in);
  fs::current_path(before);
  EXPECT_EQ(text, "typed");
}

TEST_F(PosixFilesTest, ASilentStandardInputCanBeGivenUp) {
  int ends[2];
  ASSERT_EQ(::pipe(ends), 0);
  const int kept = ::dup(STDIN_FILENO);
  ::dup2(ends[0], STDIN_FILENO);
  const base::CancelToken cancel;
  files_.offer_standard_input(cancel);
  const auto opened = files_.open("-");
  cancel.cancel();
  std::string text(10, ' ');
  EXPECT_EQ((*opened)->read(text), 0U);  // would wait for ever
  ::dup2(kept, STDIN_FILENO);
  for (const int end : {kept, ends[0], ends[1]}) ::close(end);
}

TEST_F(PosixFilesTest, AnEmptyTextMakesAnEmptyFile) {
  ASSERT_TRUE(files_.write(path("a"), "").ok());
  const auto read = files_.read(path("a"), 0);
  ASSERT_TRUE(read.ok());
  EXPECT_EQ(*read, "");
}

TEST_F(PosixFilesTest, AShorterTextLeavesNothingOfTheLongerOne) {
  put("a", std::string(100'000, 'x'));
  ASSERT_TRUE(files_.write(path("a"), "short").ok());
  EXPECT_EQ(get("a"), "short");
}

TEST_F(PosixFilesTest, TheLimitIsInclusive) {
  put("a", std::string(10'000, 'x'));
  EXPECT_TRUE(files_.read(path("a"), 10'000).ok());
  EXPECT_TRUE(files_.read(path("a"), std::string::npos).ok());
  EXPECT_EQ(problem(files_.read(path("a"), 9'999)).code, "file.too-large");
}

TEST_F(PosixFilesTest, TheLimitHoldsForWhatHasNoSizeBeforehand) {
  EXPECT_EQ(problem(files_.read("/dev/zero", 100'000)).code, "file.too-large");
}

TEST_F(PosixFilesTest, AMissingFileIsNamedWithItsNeighbour) {
  put("van.job.toml", "job = 1\n");
  const base::Diagnostic missing = problem(files_.read(path("vn.job.toml"), 1000));
  EXPECT_EQ(missing.code, "file.missing");
  EXPECT_NE(missing.message.find("vn.job.toml"), std::string::npos);
  EXPECT_NE(missing.hint.find("van.job.toml"), std::string::npos);
  EXPECT_EQ(problem(files_.read(path("van.job.toml/deeper"), 1000)).code, "file.missing");
}

TEST_F(PosixFilesTest, AFolderIsNoFile) {
  EXPECT_EQ(problem(files_.read(folder_.string(), 1000)).code, "file.unreadable");
  EXPECT_EQ(problem(files_.write(folder_.string(), "x")).code, "file.unwritable");
  EXPECT_TRUE(fs::is_directory(folder_));
}

TEST_F(PosixFilesTest, ADeviceIsNotReplaced) {
  EXPECT_EQ(problem(files_.write("/dev/null", "x")).code, "file.unwritable");
  EXPECT_TRUE(fs::is_character_file("/dev/null"));
}

TEST_F(PosixFilesTest, APathIsNeverCutAtAZero) {
  put("a", "old");
  const std::string strange = path("a") + '\0' + "b";
  EXPECT_FALSE(files_.write(strange, "new").ok());
  EXPECT_FALSE(files_.read(strange, 1000).ok());
  EXPECT_FALSE(files_.exists(strange));
  EXPECT_FALSE(files_.write("", "new").ok());
  EXPECT_EQ(get("a"), "old");
}

TEST_F(PosixFilesTest, AMissingFolderIsSaid) {
  const base::Diagnostic said = problem(files_.write(path("none/a"), "x"));
  EXPECT_EQ(said.code, "file.unwritable");
  EXPECT_NE(said.hint.find("none"), std::string::npos);
}

TEST_F(PosixFilesTest, PermissionsOfTheOldFileStay) {
  put("a", "old");
  for (const mode_t wanted : {0600U, 0640U, 0664U, 0755U}) {
    ASSERT_EQ(::chmod(path("a").c_str(), wanted), 0);
    ASSERT_TRUE(files_.write(path("a"), "new").ok());
    EXPECT_EQ(mode("a"), wanted);
  }
}

TEST_F(PosixFilesTest, ANewFileObeysTheMask) {
  const mode_t before = ::umask(027);
  EXPECT_TRUE(files_.write(path("a"), "new").ok());
  ::umask(before);
  EXPECT_EQ(mode("a"), 0640U);
}

TEST_F(PosixFilesTest, AProtectedFileIsLeftAlone) {
  if (::geteuid() == 0) GTEST_SKIP() << "root may write everything";
  put("a", "old");
  ASSERT_EQ(::chmod(path("a").c_str(), 0444), 0);
  EXPECT_EQ(problem(files_.write(path("a"), "new")).code, "file.unwritable");
  EXPECT_EQ(get("a"), "old");
}

TEST_F(PosixFilesTest, ALinkStaysALinkAndItsTargetIsReplaced) {
  fs::create_directory(folder_ / "store");
  put("store/real", "old");
  fs::create_symlink("store/near", folder_ / "link");  // relative to the link's own folder, twice
  fs::create_symlink("real", folder_ / "store/near");
  ASSERT_TRUE(files_.write(path("link"), "new").ok());
  EXPECT_TRUE(fs::is_symlink(folder_ / "link"));
  EXPECT_TRUE(fs::is_symlink(folder_ / "store/near"));
  EXPECT_EQ(get("store/real"), "new");
  EXPECT_EQ(*files_.read(path("link"), 1000), "new");
}

TEST_F(PosixFilesTest, ALinkToNothingMakesItsTarget) {
  fs::create_symlink(path("real"), folder_ / "link");
  EXPECT_FALSE(files_.exists(path("link")));
  ASSERT_TRUE(files_.write(path("link"), "new").ok());
  EXPECT_TRUE(fs::is_symlink(folder_ / "link"));
  EXPECT_EQ(get("real"), "new");
}

TEST_F(PosixFilesTest, LinksInACircleAreRefused) {
  fs::create_symlink("b", folder_ / "a");
  fs::create_symlink("a", folder_ / "b");
  EXPECT_EQ(problem(files_.write(path("a"), "new")).code, "file.unwritable");
  EXPECT_EQ(problem(files_.read(path("a"), 1000)).code, "file.unreadable");
}

TEST_F(PosixFilesTest, AnOpenReaderKeepsTheOldFile) {
  put("a", "old");
  std::ifstream in(path("a"));
  ASSERT_TRUE(files_.write(path("a"), "new").ok());
  EXPECT_EQ((std::string{std::istreambuf_iterator<char>(in), {}}), "old");
  EXPECT_EQ(get("a"), "new");
}

// A disk that takes only part of the text, played by the limit on file sizes.
TEST_F(PosixFilesTest, AWriteThatFailsHalfwayLeavesTheOldFile) {
  put("a", "old");
  rlimit before{};
  ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
  rlimit small = before;
  small.rlim_cur = 1000;
  const auto handler = std::signal(SIGXFSZ, SIG_IGN);
  ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
  const auto result = files_.write(path("a"), std::string(5000, 'x'));
  ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &before), 0);
  std::signal(SIGXFSZ, handler);
  EXPECT_EQ(problem(result).code, "file.unwritable");
  EXPECT_EQ(get("a"), "old");
  EXPECT_EQ(files_.list(folder_.string()), std::vector<std::string>{"a"});
}

TEST_F(PosixFilesTest, WhatAKilledWriteLeftIsTakenAwayByTheNext) {
  put(".a.1234-0.part", "half");
  put(".ab.1234-0.part", "of another file");
  ASSERT_TRUE(files_.write(path("a"), "new").ok());
  EXPECT_EQ(files_.list(folder_.string()), (std::vector<std::string>{".ab.1234-0.part", "a"}));
}

TEST_F(PosixFilesTest, AWriteOnItsWayIsNotTakenAway) {
  put(".a.1234-0.part", "half");
  const int other = ::open(path(".a.1234-0.part").c_str(), O_RDONLY | O_CLOEXEC);
  ASSERT_EQ(::flock(other, LOCK_EX), 0);
  ASSERT_TRUE(files_.write(path("a"), "new").ok());
  EXPECT_TRUE(files_.exists(path(".a.1234-0.part")));
  ::close(other);
}

TEST_F(PosixFilesTest, ALongNameStillFits) {
  const std::string name(255, 'n');
  ASSERT_TRUE(files_.write(path(name), "new").ok());
  EXPECT_EQ(get(name), "new");
}

TEST_F(PosixFilesTest, ANameInThePresentFolderWorks) {
  const fs::path before = fs::current_path();
  fs::current_path(folder_);
  EXPECT_TRUE(files_.write("a", "new").ok());
  EXPECT_TRUE(files_.exists("a"));
  EXPECT_EQ(files_.list("."), std::vector<std::string>{"a"});
  fs::current_path(before);
}

TEST_F(PosixFilesTest, ListsAreSortedByBytesAndEmptyWithoutAFolder) {
  for (const char* name : {"b", "a", "B", "\xC3\xA4"}) put(name, "");
  EXPECT_EQ(files_.list(folder_.string()), (std::vector<std::string>{"B", "a", "b", "\xC3\xA4"}));
  EXPECT_TRUE(files_.list(path("none")).empty());
  EXPECT_TRUE(files_.list(path("a")).empty());
}

}  // namespace
}  // namespace halfsplit::system
