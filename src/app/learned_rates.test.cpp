// SPDX-License-Identifier: Apache-2.0
#include "app/learned_rates.h"

#include <gtest/gtest.h>
#include <stdlib.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "app/base64.h"
#include "app/book_files.h"
#include "base/fakes.h"
#include "fault/rates.h"

namespace halfsplit::app {
namespace {

namespace fs = std::filesystem;

TEST(Base64, IsReadOrRefused) {  // RFC 4648, section 10
  for (std::size_t size = 0; size < 200; ++size) {
    std::string bytes(size, '\0');
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<char>(i * 37 + size);
    const std::optional<std::string> text = to_base64(bytes);
    ASSERT_TRUE(text);
    EXPECT_EQ(text->find('\n'), std::string::npos);
    EXPECT_EQ(from_base64(*text), bytes);
  }
  EXPECT_EQ(to_base64("foobar"), "Zm9vYmFy");
  EXPECT_EQ(from_base64("Zm9vYmFy"), "foobar");
  EXPECT_EQ(from_base64("Zm9v\nYmE="), "fooba");
  EXPECT_EQ(from_base64("Zg=="), "f");
  EXPECT_EQ(from_base64(""), "");
  EXPECT_EQ(from_base64("/+8="), "\xFF\xEF");
  EXPECT_FALSE(from_base64("Zm9vYmF"));
  EXPECT_FALSE(from_base64("Zm9v!mFy"));
}

class LearnedRates : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "halfsplit-rates-XXXXXX").string();
    ASSERT_NE(::mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
    std::ostringstream text;
    text << std::ifstream("examples/gritter/gritter.loom.toml").rdbuf();
    files_ = std::make_unique<BookFiles>(beneath_, clock_, folder_.string());
    ASSERT_TRUE(files_->write("shelf:gritter", text.str()).ok());
    cache_ = make_cache();
    context_ = std::make_unique<Context>(Context{*files_, clock_, *cache_, nullptr, {}, {}});
    context_->book = files_.get();
  }
  void TearDown() override { fs::remove_all(folder_); }

  // The priors of all rows, as belief starts from them.
  std::vector<double> priors() {
    const auto engine = cache_->engine(*context_, "shelf:gritter");
    EXPECT_TRUE(engine.ok());
    std::vector<double> priors;
    for (const infer::Row& row : (*engine)->rows()) priors.push_back(row.log_prior);
    return priors;
  }
  double prior_of(fault::FaultId id) {
    const auto engine = cache_->engine(*context_, "shelf:gritter");
    double sum = 0.0;
    for (const infer::Row& row : (*engine)->rows())
      if (row.first == id) sum += std::exp(row.log_prior);
    return sum;
  }
  std::int64_t new_job() {
    Arguments arguments;
    arguments.add("loom", "shelf:gritter");
    arguments.add("complaint", "x");
    const Reply reply = run_operation(*context_, "open", arguments);
    EXPECT_EQ(reply.exit_code, 0) << base::format_diagnostics(reply.diagnostics);
    return job_number(reply.result["job"].get<std::string>());
  }

  fs::path folder_;
  base::MemoryFiles beneath_;
  base::FixedClock clock_{1'700'000'000};
  std::unique_ptr<BookFiles> files_;
  std::shared_ptr<Cache> cache_;
  std::unique_ptr<Context> context_;
};

TEST_F(LearnedRates, MoveThePriorAsGammaAndPoissonSayAndGoBackExactly) {
  const auto loaded = load_loom(*context_, "shelf:gritter");
  ASSERT_TRUE(loaded.ok());
  const fault::Universe& defaults = (*loaded)->universe;
  const std::string loom = (*loaded)->loom.name;
  const auto of_row = [&](std::string_view row, fault::FaultKind kind) {
    for (std::size_t i = 0; i < defaults.faults.size(); ++i)
      if (defaults.faults[i].row == row && defaults.faults[i].kind == kind) return fault::FaultId(i);
    return fault::FaultId();
  };
  const fault::FaultId confirmed = of_row("contact", fault::FaultKind::kOpen);
  const fault::FaultId other = of_row("wire", fault::FaultKind::kOpen);
  ASSERT_FALSE(confirmed.is_none() || other.is_none());
  const std::vector<double> before = priors();
  const double ratio = prior_of(confirmed) / prior_of(other);

  const std::int64_t job = new_job();
  store::Book& book = **files_->book();
  const std::vector<store::Lesson> lessons = lessons_of(defaults, {confirmed});
  const std::string path = "book:" + std::to_string(job);
  ASSERT_TRUE(files_->write_and_learn(path, *files_->read(path, std::size_t{1} << 20U), {loom, lessons}).ok());

  // By hand: the gamma's shape is 2 at the start and its years 2 / default; each lesson adds its count and its days.
  std::int64_t loom_days = 0;
  const auto kind_factor = [&](fault::FaultId id) {
    const fault::Fault& fault = defaults.faults[id.index()];
    const double rate = fault::rate_of(fault.row, fault.kind).per_year;
    for (const store::Lesson& lesson : lessons)
      if (lesson.scope == store::Lesson::Scope::kKind && lesson.name == kind_name(fault))
        return (2.0 + static_cast<double>(lesson.confirmed)) / (2.0 + rate * static_cast<double>(lesson.days) / 365.25);
    return 1.0;
  };
  double all = 0.0;
  for (const fault::Fault& fault : defaults.faults) all += fault.rate_per_year;
  for (const store::Lesson& lesson : lessons)
    if (lesson.scope == store::Lesson::Scope::kLoom) loom_days = lesson.days;
  EXPECT_NEAR(static_cast<double>(loom_days), 365.25 / all, 0.5) << "a vehicle of this loom runs so long by default";
  const double own =
      3.0 / (2.0 + defaults.faults[confirmed.index()].rate_per_year * static_cast<double>(loom_days) / 365.25);
  EXPECT_NEAR(prior_of(confirmed) / prior_of(other), ratio * own * kind_factor(confirmed) / kind_factor(other),
              1e-9 * ratio);
  EXPECT_GT(own * kind_factor(confirmed), 1.5);
  EXPECT_LT(kind_factor(other), 1.0) << "what did not come up falls";

  ASSERT_TRUE(*book.set_forgotten(job, true, files_->now()));
  EXPECT_EQ(priors(), before) << "to the last bit";
  ASSERT_TRUE(*book.set_forgotten(job, false, files_->now()));
  EXPECT_NE(priors(), before);
  ASSERT_TRUE(*book.set_removed(job, true, files_->now()));
  EXPECT_EQ(priors(), before);
}

TEST_F(LearnedRates, AnExpectedMixOfRepairsLeavesKindsWhereTheyAre) {
  const auto loaded = load_loom(*context_, "shelf:gritter");
  ASSERT_TRUE(loaded.ok());
  // As many confirmations of each kind as the default rates lead one to expect, over many jobs.
  std::vector<store::Learned> learned;
  const auto& faults = (*loaded)->universe.faults;
  for (const store::Lesson& lesson : lessons_of((*loaded)->universe, {fault::FaultId(0)})) {
    if (lesson.scope != store::Lesson::Scope::kKind) continue;
    store::Learned one{1, "x", lesson, false, ""};
    one.lesson.days *= 1000;
    double rate = 0.0;
    for (const fault::Fault& fault : faults)
      if (kind_name(fault) == lesson.name) rate = fault::rate_of(fault.row, fault.kind).per_year;
    one.lesson.confirmed = std::llround(rate * static_cast<double>(one.lesson.days) / 365.25);
    learned.push_back(one);
  }
  for (const RateLine& line : learned_kinds(learned))
    EXPECT_NEAR(line.learned_per_year / line.default_per_year, 1.0, 0.3) << line.name;
}

TEST_F(LearnedRates, AJobThatAnotherDoorMovedOnIsRefused) {
  const std::int64_t job = new_job();
  const std::string path = "book:" + std::to_string(job);
  BookFiles other(beneath_, clock_, folder_.string());
  const auto mine = files_->read(path, 1U << 20U);
  const auto theirs = other.read(path, 1U << 20U);
  ASSERT_TRUE(mine.ok() && theirs.ok());
  EXPECT_EQ(*mine, *theirs);
  const std::string entry = "\n[[entry]]\nn = 9\nat = \"2024-05-06T07:08:09Z\"\nnote = \"x\"\n";
  ASSERT_TRUE(files_->write(path, mine->substr(0, mine->find("\n[drawn]")) + entry).ok());
  const auto late = other.write(path, *theirs);
  ASSERT_FALSE(late.ok());
  EXPECT_EQ(late.diagnostics().front().code, "job.moved");
  EXPECT_TRUE(other.read(path, 1U << 20U).ok());
  EXPECT_TRUE(other.write(path, *other.read(path, 1U << 20U)).ok());
}

}  // namespace
}  // namespace halfsplit::app
