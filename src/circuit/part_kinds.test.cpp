// SPDX-License-Identifier: Apache-2.0
// The table of part kinds is whole: every kind once, every default within its own limits, words found both ways.
#include "circuit/part_kinds.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "base/check.h"

namespace halfsplit::circuit {
namespace {

TEST(PartKinds, EveryKindHasOneRecordAndOneWord) {
  EXPECT_EQ(part_kinds().size(), static_cast<std::size_t>(PartKind::kAlternator) + 1);
  std::set<std::string_view> words;
  for (const PartKindInfo& info : part_kinds()) {
    EXPECT_TRUE(words.insert(info.word).second) << info.word;
    EXPECT_EQ(&part_kind(info.kind), &info);
    EXPECT_EQ(find_part_kind(info.word), &info);
    EXPECT_GE(info.terminals.size(), 2U) << info.word;
  }
  EXPECT_EQ(find_part_kind("lamp "), nullptr);
}

TEST(PartKinds, DefaultsLieWithinTheirLimits) {
  for (const PartKindInfo& info : part_kinds())
    for (const PartField& field : info.fields) {
      EXPECT_LT(field.low, field.high) << info.word << " " << field.name;
      if (std::isfinite(field.fallback)) {
        EXPECT_GE(field.fallback, field.low) << info.word << " " << field.name;
        EXPECT_LE(field.fallback, field.high) << info.word << " " << field.name;
      }
    }
}

TEST(PartKinds, AnUnknownFieldIsABug) {
  EXPECT_EQ(field_index(PartKind::kFuse, "rating_a"), 0U);
  EXPECT_THROW(static_cast<void>(field_index(PartKind::kFuse, "watt")), base::Bug);
}

TEST(PinRoles, AreFoundByTheirWords) {
  for (int i = 0; i <= static_cast<int>(PinRole::kUnknown); ++i) {
    const PinRole role = static_cast<PinRole>(i);
    EXPECT_EQ(find_pin_role(pin_role_word(role)), role) << i;
  }
  EXPECT_FALSE(find_pin_role("output").has_value());
}

}  // namespace
}  // namespace halfsplit::circuit
