// SPDX-License-Identifier: Apache-2.0
// Result, CancelToken and Id: the small promises everything else leans on.
#include "base/result.h"

#include <gtest/gtest.h>

#include <memory>
#include <unordered_set>

#include "base/cancel.h"
#include "base/ids.h"

namespace halfsplit::base {
namespace {

TEST(Result, HoldsAValueOrTheReasons) {
  const Result<int> good = 7;
  EXPECT_TRUE(good.ok());
  EXPECT_EQ(*good, 7);
  EXPECT_TRUE(good.diagnostics().empty());
  const Result<int> bad = make_error("x.y", "no");
  EXPECT_FALSE(bad.ok());
  EXPECT_EQ(bad.diagnostics().at(0).code, "x.y");
}

TEST(Result, AValueMayCarryWarnings) {
  const Result<int> read(7, {make_warning("x.y", "hm")});
  EXPECT_TRUE(read.ok());
  EXPECT_EQ(read.diagnostics().size(), 1U);
}

TEST(Result, MisuseIsABug) {
  const Result<int> bad = make_error("x.y", "no");
  EXPECT_THROW((void)bad.value(), Bug);
  EXPECT_THROW((void)*bad, Bug);
  EXPECT_THROW((void)Result<int>(std::vector<Diagnostic>{}), Bug);
}

TEST(Result, HandsOverWhatCannotBeCopied) {
  Result<std::unique_ptr<int>> made = std::make_unique<int>(3);
  const std::unique_ptr<int> taken = std::move(made).value();
  EXPECT_EQ(*taken, 3);
}

TEST(Check, SaysWhereAndWhy) {
  try {
    HS_CHECK(1 > 2, "one is not more than two");
    FAIL();
  } catch (const Bug& bug) {
    EXPECT_NE(std::string(bug.what()).find("result.test.cpp"), std::string::npos);
    EXPECT_NE(std::string(bug.what()).find("one is not more than two"), std::string::npos);
  }
}

TEST(CancelToken, CopiesShareOneFlag) {
  const CancelToken token;
  const CancelToken copy = token;
  const CancelToken other;
  EXPECT_FALSE(copy.cancelled());
  token.cancel();
  EXPECT_TRUE(copy.cancelled());
  EXPECT_FALSE(other.cancelled());
}

TEST(Ids, KnowNoneFromTheFirst) {
  using PartId = Id<struct PartTag>;
  EXPECT_TRUE(PartId().is_none());
  EXPECT_FALSE(PartId(0).is_none());
  EXPECT_EQ(PartId(5).index(), 5U);
  EXPECT_LT(PartId(4), PartId(5));
  const std::unordered_set<PartId> set{PartId(1), PartId(1), PartId(2)};
  EXPECT_EQ(set.size(), 2U);
  static_assert(!std::is_convertible_v<Id<struct NodeTag>, PartId>);
  static_assert(!std::is_convertible_v<std::size_t, PartId>);
}

}  // namespace
}  // namespace halfsplit::base
