// SPDX-License-Identifier: Apache-2.0
// Published bytes are held against this in tests/frames.
#include "can/trouble_codes.h"

#include <gtest/gtest.h>

#include "base/rng.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;
using Four = std::array<std::uint8_t, 4>;

TEST(TroubleCodes, MethodFourIsRead) {
  const TroubleCode code = split_trouble_code(Four{0x45, 0x23, 0x25, 0x03});
  EXPECT_EQ(code.spn, 74565U);
  EXPECT_EQ(code.fmi, 5);
  EXPECT_EQ(code.occurrences, 3);
  EXPECT_FALSE(code.older_conversion);
  EXPECT_EQ(possible_spns(code), std::vector<std::uint32_t>{74565});
  EXPECT_EQ(trouble_code_text(code), "SPN 74565 FMI 5");
}

// One code written by the three older methods: each time it is among the readings, each at its place.
TEST(TroubleCodes, OlderMethodsAreAllGiven) {
  EXPECT_EQ(split_trouble_code(Four{0x45, 0x23, 0x25, 0x83}).spn, 74565U);
  EXPECT_EQ(split_trouble_code(Four{0x24, 0x68, 0xA5, 0x83}).spn_method_1, 74565U);
  EXPECT_EQ(split_trouble_code(Four{0x68, 0x24, 0xA5, 0x83}).spn_method_2, 74565U);
  const TroubleCode code = split_trouble_code(Four{0x24, 0x68, 0xA5, 0x83});
  EXPECT_TRUE(code.older_conversion);
  EXPECT_EQ(code.fmi, 5);
  EXPECT_EQ(code.occurrences, 3);
  EXPECT_EQ(possible_spns(code).size(), 3U);
  EXPECT_EQ(trouble_code_text(split_trouble_code(Four{0x00, 0x00, 0x1F, 0x81})), "SPN 0 FMI 31");
}

TEST(TroubleCodes, TextTellsOfOtherReadings) {
  EXPECT_EQ(trouble_code_text(split_trouble_code(Four{0x61, 0x02, 0x13, 0x81})),
            "SPN 609 FMI 19 (or SPN 198672 or 4872 by an older conversion)");
}

TEST(TroubleCodes, SplitAndJoinedAreOne) {
  base::Rng rng(73);
  for (int round = 0; round < 5'000; ++round) {
    const auto word = static_cast<std::uint32_t>(rng.below(1ULL << 32));
    const Four four = {static_cast<std::uint8_t>(word), static_cast<std::uint8_t>(word >> 8),
                       static_cast<std::uint8_t>(word >> 16), static_cast<std::uint8_t>(word >> 24)};
    const TroubleCode code = split_trouble_code(four);
    ASSERT_EQ(join_trouble_code(code), four);
    ASSERT_LT(code.spn, 1U << 19);
    ASSERT_LT(code.spn_method_1, 1U << 19);
    ASSERT_LT(code.spn_method_2, 1U << 19);
  }
}

TEST(TroubleCodes, ReportsAreWrittenAndReadBack) {
  base::Rng rng(1);
  for (int round = 0; round < 500; ++round) {
    CodeReport report;
    const auto lamp = [&rng] { return static_cast<LampState>(rng.below(6)); };
    report.lamps = {lamp(), lamp(), lamp(), lamp()};
    for (std::uint64_t k = rng.below(6); k > 0; --k) {
      const auto spn = static_cast<std::uint32_t>(1 + rng.below(500'000));
      report.codes.push_back(
          {spn, static_cast<std::uint8_t>(rng.below(32)), static_cast<std::uint8_t>(rng.below(128)), false, spn, spn});
    }
    const Bytes bytes = write_code_report(report);
    ASSERT_GE(bytes.size(), 8U);
    const auto again = read_code_report(bytes);
    ASSERT_TRUE(again);
    EXPECT_EQ(again->lamps, report.lamps);
    EXPECT_EQ(again->codes, report.codes);
  }
}

TEST(TroubleCodes, NothingStoredIsNoCode) {
  EXPECT_TRUE(read_code_report(Bytes{0x00, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF})->codes.empty());
  EXPECT_TRUE(read_code_report(Bytes{0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF})->codes.empty());
  EXPECT_EQ(read_code_report(Bytes{0x00, 0xFF, 0, 0, 0x1F, 0, 0xFF, 0xFF})->codes.size(), 1U);  // SPN 0 FMI 31
}

TEST(TroubleCodes, ShortReportsTellWhatTheyHold) {
  EXPECT_FALSE(read_code_report(Bytes{}));
  EXPECT_FALSE(read_code_report(Bytes{0x40}));
  const auto lamps = read_code_report(Bytes{0x40, 0xFF, 1, 2, 3});
  ASSERT_TRUE(lamps);
  EXPECT_EQ(lamps->lamps.malfunction, LampState::kOn);
  EXPECT_TRUE(lamps->codes.empty());
  EXPECT_EQ(lamps->left_over, 3);
}

TEST(TroubleCodes, GroupsOfThisLayout) {
  std::uint32_t before = 0;
  for (const CodeGroup& group : code_groups()) {
    EXPECT_LT(before, group.pgn);
    before = group.pgn;
    EXPECT_EQ(find_code_group(group.pgn), &group);
  }
  EXPECT_EQ(find_code_group(kPgnActiveCodes)->name, "DM1");
  EXPECT_EQ(find_code_group(65227)->name, "DM2");
  EXPECT_EQ(find_code_group(65228), nullptr);
}

TEST(TroubleCodes, WordsForEveryState) {
  for (int state = 0; state < 6; ++state) EXPECT_FALSE(lamp_state_word(static_cast<LampState>(state)).empty());
  EXPECT_EQ(failure_mode(4).name, "voltage low");
  EXPECT_FALSE(failure_mode(31).means.empty());
  EXPECT_TRUE(failure_mode(32).name.empty());
}

}  // namespace
}  // namespace halfsplit::can
