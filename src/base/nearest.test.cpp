// SPDX-License-Identifier: Apache-2.0
#include "base/nearest.h"

#include <gtest/gtest.h>

namespace halfsplit::base {
namespace {

using Names = std::vector<std::string>;

TEST(FindNearest, OneSlipIsForgiven) {
  const Names names{"sensor", "splice", "stud", "solenoid"};
  EXPECT_EQ(find_nearest("senser", names), Names{"sensor"});      // one letter wrong
  EXPECT_EQ(find_nearest("sensr", names), Names{"sensor"});       // one missing
  EXPECT_EQ(find_nearest("sennsor", names), Names{"sensor"});     // one too many
  EXPECT_EQ(find_nearest("solneoid", names), Names{"solenoid"});  // neighbours swapped
}

TEST(FindNearest, SwapOfNeighboursIsOneEditNotTwo) {
  // Four letters allow one edit: "hron" is near "horn" only if a swap counts once (Damerau 1964).
  EXPECT_EQ(find_nearest("hron", {"horn"}), Names{"horn"});
  EXPECT_EQ(find_nearest("hxxn", {"horn"}), Names{});
}

TEST(FindNearest, CaseDoesNotCount) { EXPECT_EQ(find_nearest("bcm.a:14", {"BCM.A:14"}), Names{"BCM.A:14"}); }

TEST(FindNearest, TheSameNameComesFirstThenTheNameThatHoldsIt) {
  EXPECT_EQ(find_nearest("x12", {"x13", "cab-X12-lower", "X12"}), (Names{"X12", "cab-X12-lower", "x13"}));
}

TEST(FindNearest, ANameInsideTheWantedOneIsNear) {
  EXPECT_EQ(find_nearest("ground-stud-left", {"stud", "fuse"}), Names{"stud"});
}

TEST(FindNearest, FarNamesAreLeftOut) {
  EXPECT_EQ(find_nearest("tachograph", {"fuse", "relay", "splice"}), Names{});
  EXPECT_EQ(find_nearest("F1", {"F2", "G7"}), Names{});  // two characters: nothing to tell a slip by
  EXPECT_EQ(find_nearest("", {"a", "b"}), Names{});
  EXPECT_EQ(find_nearest("x", {}), Names{});
}

TEST(FindNearest, OrderDoesNotDependOnWhereTheNamesStood) {
  const Names one{"lamp3", "lamp1", "lamp2", "lamp1"};
  const Names other{"lamp1", "lamp2", "lamp3"};
  EXPECT_EQ(find_nearest("lamp4", one), (Names{"lamp1", "lamp2", "lamp3"}));
  EXPECT_EQ(find_nearest("lamp4", other), find_nearest("lamp4", one));
  EXPECT_EQ(find_nearest("lamp4", other, 2), (Names{"lamp1", "lamp2"}));
}

TEST(FindNearest, VeryLongNamesAreCutNotFeared) {
  const std::string huge(1'000'000, 'a');
  EXPECT_EQ(find_nearest(huge, {huge, "b"}), Names{huge});
}

TEST(DidYouMean, ReadsAsASentence) {
  EXPECT_EQ(did_you_mean("lamp4", {"lamp1", "lamp2", "lamp3"}), "did you mean lamp1, lamp2 or lamp3?");
  EXPECT_EQ(did_you_mean("lamp4", {"lamp1", "lamp2"}), "did you mean lamp1 or lamp2?");
  EXPECT_EQ(did_you_mean("horm", {"horn"}), "did you mean horn?");
  EXPECT_EQ(did_you_mean("horm", {"pump"}), "");
}

}  // namespace
}  // namespace halfsplit::base
