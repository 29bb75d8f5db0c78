// SPDX-License-Identifier: Apache-2.0
#include "formats/profile_text.h"

#include <gtest/gtest.h>

namespace halfsplit::formats {
namespace {

TEST(ProfileText, WhatIsWrittenIsReadBack) {
  job::Profile profile;
  profile.workshop = "Werkstatt Süd";
  profile.address = "Gate 3\nHall B";
  profile.technician = "T. Example";
  profile.labour_per_hour = 96.5;
  profile.tax_percent = 19.0;
  profile.currency = "EUR";
  profile.kit.resistors = {"120R", "1k"};
  profile.kit.clamp = false;
  const auto text = write_profile_text(profile);
  ASSERT_TRUE(text.ok()) << base::format_diagnostics(text.diagnostics());
  const auto again = read_profile_text("profile.toml", *text);
  ASSERT_TRUE(again.ok());
  EXPECT_EQ(again->workshop, profile.workshop);
  EXPECT_EQ(again->address, profile.address);
  EXPECT_EQ(again->labour_per_hour, 96.5);
  EXPECT_EQ(again->tax_percent, 19.0);
  EXPECT_EQ(again->kit.resistors, profile.kit.resistors);
  EXPECT_FALSE(again->kit.clamp);
}

TEST(ProfileText, ErrorsHaveTheirPlace) {
  const auto wrong = read_profile_text("profile.toml", "profile = 1\nworkshop = 3\ntax_percent = 300\nphon = \"1\"\n");
  ASSERT_FALSE(wrong.ok());
  std::vector<std::string> codes;
  for (const base::Diagnostic& one : wrong.diagnostics()) {
    codes.push_back(one.code + ":" + std::to_string(one.where.line));
    EXPECT_EQ(one.where.file, "profile.toml");
  }
  std::sort(codes.begin(), codes.end());
  EXPECT_EQ(codes, (std::vector<std::string>{"profile.bad-type:2", "profile.out-of-range:3", "profile.unknown-key:4"}));
  EXPECT_FALSE(read_profile_text("p", "profile = 2\n").ok());
}

}  // namespace
}  // namespace halfsplit::formats
