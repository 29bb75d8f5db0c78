// SPDX-License-Identifier: Apache-2.0
#include "can/j1939_requests.h"

#include <gtest/gtest.h>

#include <vector>

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

TEST(J1939Requests, NameTheGroupAskedFor) {
  EXPECT_EQ(read_request(Bytes{0xEC, 0xFE, 0x00}), 65260U);
  EXPECT_EQ(read_request(Bytes{0x00, 0xEE, 0x00, 0xFF, 0xFF}), 60928U);
  EXPECT_EQ(read_request(Bytes{0xEC, 0xFE}), std::nullopt);
}

TEST(J1939Requests, AnswersNameWhomAndWhat) {
  const auto denied = read_acknowledgement(Bytes{2, 0xFF, 0xFF, 0xFF, 0xF9, 0xCA, 0xFE, 0x00});
  ASSERT_TRUE(denied);
  EXPECT_EQ(denied->kind, AcknowledgementKind::kDenied);
  EXPECT_EQ(denied->address, 0xF9);
  EXPECT_EQ(denied->group_function, 0xFF);
  EXPECT_EQ(denied->pgn, 65226U);
  EXPECT_EQ(read_acknowledgement(Bytes(8, 0))->kind, AcknowledgementKind::kDone);
  EXPECT_EQ(read_acknowledgement(Bytes{1, 0, 0, 0, 0, 0, 0, 0})->kind, AcknowledgementKind::kNotKnown);
  EXPECT_EQ(read_acknowledgement(Bytes{3, 0, 0, 0, 0, 0, 0, 0})->kind, AcknowledgementKind::kBusy);
  EXPECT_EQ(read_acknowledgement(Bytes{4, 0, 0, 0, 0, 0, 0, 0})->kind, AcknowledgementKind::kOther);
  EXPECT_FALSE(read_acknowledgement(Bytes(7, 0)));
}

TEST(J1939Requests, EveryKindHasAWord) {
  for (int kind = 0; kind < 5; ++kind)
    EXPECT_FALSE(acknowledgement_word(static_cast<AcknowledgementKind>(kind)).empty());
}

}  // namespace
}  // namespace halfsplit::can
