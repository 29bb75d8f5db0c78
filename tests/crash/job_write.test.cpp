// SPDX-License-Identifier: Apache-2.0
// A process that rewrites a job file without pause is killed at random moments. Whatever stands on disk then is a whole
// job, and never older than one that was known to be written. What it does not show: a power cut, where it counts that
// the text was flushed before the rename; the order of the calls is written down in system/posix_files.cpp.
#include <gtest/gtest.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <csignal>
#include <filesystem>
#include <new>
#include <thread>

#include "base/rng.h"
#include "formats/job_text.h"
#include "formats/timestamp.h"
#include "system/posix_files.h"

namespace halfsplit {
namespace {

namespace fs = std::filesystem;

constexpr int kKills = 100;
constexpr std::size_t kLimit = std::size_t{16} << 20U;

// Version `v` of the job: everything in it follows from v, and neighbours differ much in length.
job::Job make_version(int v) {
  job::Job job;
  job.loom = "tipper.loom.toml";
  job.complaint = "version " + std::to_string(v);
  const int entries = 1 + v * 37 % 200;
  for (int n = 1; n <= entries; ++n)
    job.entries.push_back({n, formats::format_timestamp(v), "note", std::string(200, static_cast<char>('a' + v % 26)),
                           "", 0.0, false, ""});
  return job;
}

// Shared with the child: the last version whose write has come back.
struct Shared {
  std::atomic<int> written{0};
};

[[noreturn]] void rewrite_for_ever(const std::string& path, int version, Shared& shared) {
  system::PosixFiles files;
  for (;; ++version) {
    const auto text = formats::write_job_text(make_version(version));
    if (!text.ok() || !files.write(path, *text).ok()) ::_exit(1);
    shared.written.store(version);
  }
}

class JobWrite : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halfsplit-crash-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
    void* memory = ::mmap(nullptr, sizeof(Shared), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    ASSERT_NE(memory, MAP_FAILED);
    shared_ = new (memory) Shared;
  }
  void TearDown() override {
    ::munmap(shared_, sizeof(Shared));
    fs::remove_all(folder_);
  }

  // Lets a child write from `version` on and kills it after `pause`.
  void write_and_kill(int version, std::chrono::microseconds pause) {
    const pid_t child = ::fork();
    ASSERT_GE(child, 0);
    if (child == 0) rewrite_for_ever(path(), version, *shared_);
    std::this_thread::sleep_for(pause);
    ASSERT_EQ(::kill(child, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child gave up by itself";
  }

  // The version on disk; the file is whole.
  int version_on_disk() {
    const auto text = files_.read(path(), kLimit);
    if (!text.ok()) return ADD_FAILURE() << base::format_diagnostics(text.diagnostics()), -1;
    const auto job = formats::read_job_text("job", *text);
    if (!job.ok()) return ADD_FAILURE() << base::format_diagnostics(job.diagnostics()), -1;
    const int version = std::stoi(job->complaint.substr(8));
    EXPECT_EQ(*text, *formats::write_job_text(make_version(version)));
    return version;
  }

  [[nodiscard]] std::string path() const { return (folder_ / "x.job.toml").string(); }

  fs::path folder_;
  system::PosixFiles files_;
  Shared* shared_ = nullptr;
};

TEST_F(JobWrite, AKilledWriteLeavesTheOldJobOrTheNew) {
  constexpr std::uint64_t kSeed = 20240506;
  std::printf("seed %llu, %d kills\n", static_cast<unsigned long long>(kSeed), kKills);
  base::Rng rng(kSeed);
  ASSERT_TRUE(files_.write(path(), *formats::write_job_text(make_version(0))).ok());
  int leftovers = 0;
  for (int kill = 0; kill < kKills && !HasFailure(); ++kill) {
    const auto pause = std::chrono::microseconds(static_cast<int>(rng.log_uniform(300.0, 30'000.0)));
    SCOPED_TRACE("kill " + std::to_string(kill) + " after " + std::to_string(pause.count()) + " us");
    const int before = shared_->written.load();
    write_and_kill(before + 1, pause);
    const int found = version_on_disk();
    EXPECT_GE(found, shared_->written.load());
    EXPECT_LE(found, shared_->written.load() + 1);
    shared_->written.store(found);
    const std::size_t names = files_.list(folder_.string()).size();
    EXPECT_LE(names, 2U) << "what a kill leaves is taken away by the next write";
    leftovers += names == 2 ? 1 : 0;
  }
  std::printf("%d versions written, %d kills in the middle of a write\n", shared_->written.load(), leftovers);
  EXPECT_GT(shared_->written.load(), 0);
}

}  // namespace
}  // namespace halfsplit
