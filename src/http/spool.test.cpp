// SPDX-License-Identifier: Apache-2.0
#include "http/spool.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>

namespace halfsplit::http {
namespace {

class SpoolTest : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = ::testing::TempDir() + "spool-XXXXXX";
    folder_ = ::mkdtemp(name.data());
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string folder_;
};

TEST_F(SpoolTest, GivesBackWhatCameAndLeavesNoName) {
  const std::shared_ptr<Spool> spool = Spool::make(folder_);
  ASSERT_NE(spool, nullptr);
  EXPECT_TRUE(std::filesystem::is_empty(folder_));
  ASSERT_TRUE(spool->append("(1.0) can0 "));
  ASSERT_TRUE(spool->append("123#00\n"));
  EXPECT_EQ(spool->size(), 18U);
  EXPECT_EQ(*spool->read(18), "(1.0) can0 123#00\n");
  EXPECT_EQ(spool->read(17).diagnostics().front().code, "file.too-large");
  for (int turn = 0; turn < 2; ++turn) {  // each from the beginning
    const std::unique_ptr<base::ByteSource> bytes = spool->open();
    char three[3];
    EXPECT_EQ(bytes->read(three), 3U);
    EXPECT_EQ(std::string(three, 3), "(1.");
    EXPECT_EQ(bytes->taken(), 3U);
    EXPECT_EQ(*bytes->size(), 18U);
  }
}

TEST_F(SpoolTest, BytesOutliveTheirRequest) {
  std::shared_ptr<Spool> spool = Spool::make(folder_);
  ASSERT_TRUE(spool->append("abc"));
  const std::unique_ptr<base::ByteSource> bytes = spool->open();
  spool.reset();
  char all[8];
  EXPECT_EQ(bytes->read(all), 3U);
  EXPECT_EQ(bytes->read(all), 0U);
  EXPECT_FALSE(bytes->problem());
}

TEST_F(SpoolTest, OnlySoManyAtOnceAndOnlyWhereTheyCanBe) {
  EXPECT_EQ(Spool::make(folder_ + "/none"), nullptr);
  std::vector<std::shared_ptr<Spool>> spools;
  for (int i = 0; i < Spool::kMostSpools; ++i) {
    spools.push_back(Spool::make(folder_));
    EXPECT_NE(spools.back(), nullptr) << i;
  }
  EXPECT_EQ(Spool::make(folder_), nullptr);
  spools.pop_back();
  EXPECT_NE(Spool::make(folder_), nullptr);
}

}  // namespace
}  // namespace halfsplit::http
