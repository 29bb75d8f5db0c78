// SPDX-License-Identifier: Apache-2.0
// Published codes are held against this in tests/frames.
#include "can/uds_codes.h"

#include <gtest/gtest.h>

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

TEST(UdsCodes, TwoBytesAsTextAndBack) {
  for (std::uint32_t code = 0; code <= 0xFFFF; ++code) {
    const std::string text = code_text(static_cast<std::uint16_t>(code));
    ASSERT_EQ(text.size(), 5U);
    ASSERT_EQ(read_code_text(text), code) << text;
  }
  EXPECT_EQ(read_code_text("u01f0"), 0xC1F0);
  for (const char* wrong : {"", "P013", "P01355", "X0135", "P4135", "P01G5", "0135", "P-135"}) {
    EXPECT_EQ(read_code_text(wrong), std::nullopt) << wrong;
  }
}

TEST(UdsCodes, CodesByStatus) {
  const auto reply = read_diagnostic_reply(Bytes{0x59, 0x02, 0xAF, 0xC1, 0x00, 0x87, 0x2F, 0x05, 0x62, 0x11, 0x08});
  ASSERT_TRUE(reply);
  EXPECT_EQ(reply->kind, DiagnosticKind::kCodes);
  EXPECT_EQ(reply->service, 0x59);
  EXPECT_EQ(reply->subfunction, 2);
  EXPECT_EQ(reply->status_mask, 0xAF);
  ASSERT_EQ(reply->codes.size(), 2U);
  EXPECT_EQ(diagnostic_code_text(reply->codes[0]), "U0100-87");
  EXPECT_EQ(reply->codes[0].status, 0x2F);
  EXPECT_EQ(diagnostic_code_text(reply->codes[1]), "P0562-11");
  EXPECT_EQ(reply->left_over, 0);
  EXPECT_TRUE(read_diagnostic_reply(Bytes{0x59, 0x0A, 0xFF})->codes.empty());
  EXPECT_EQ(read_diagnostic_reply(Bytes{0x59, 0x02, 0xFF, 1, 2, 3})->left_over, 3);
}

TEST(UdsCodes, HowManyCodes) {
  const auto reply = read_diagnostic_reply(Bytes{0x59, 0x01, 0x2F, 0x01, 0x01, 0x02});
  ASSERT_TRUE(reply);
  EXPECT_EQ(reply->kind, DiagnosticKind::kCount);
  EXPECT_EQ(reply->count, 0x102);
  EXPECT_EQ(reply->format, 1);
  EXPECT_FALSE(read_diagnostic_reply(Bytes{0x59, 0x01, 0x2F, 0x01, 0x01}));
}

TEST(UdsCodes, OneCodeWithItsData) {
  const auto reply = read_diagnostic_reply(Bytes{0x59, 0x06, 0x9A, 0x01, 0x13, 0x09, 0x01, 0x55});
  ASSERT_TRUE(reply);
  ASSERT_EQ(reply->codes.size(), 1U);
  EXPECT_EQ(diagnostic_code_text(reply->codes[0]), "B1A01-13");
  EXPECT_EQ(reply->left_over, 2);
}

TEST(UdsCodes, LegislatedModes) {
  const auto confirmed = read_diagnostic_reply(Bytes{0x43, 0x02, 0x01, 0x35, 0xC1, 0x00});
  ASSERT_TRUE(confirmed);
  EXPECT_EQ(confirmed->count, 2);
  ASSERT_EQ(confirmed->codes.size(), 2U);
  EXPECT_EQ(diagnostic_code_text(confirmed->codes[0]), "P0135");
  EXPECT_EQ(diagnostic_code_text(confirmed->codes[1]), "U0100");
  EXPECT_FALSE(confirmed->codes[0].status);
  const auto without_count = read_diagnostic_reply(Bytes{0x47, 0x01, 0x35, 0x00, 0x00, 0x00, 0x00});
  ASSERT_EQ(without_count->codes.size(), 1U);
  EXPECT_EQ(without_count->count, 1);
  EXPECT_TRUE(read_diagnostic_reply(Bytes{0x43, 0x00})->codes.empty());
  EXPECT_TRUE(read_diagnostic_reply(Bytes{0x4A})->codes.empty());
}

TEST(UdsCodes, Refusals) {
  const auto reply = read_diagnostic_reply(Bytes{0x7F, 0x19, 0x78});
  ASSERT_TRUE(reply);
  EXPECT_EQ(reply->kind, DiagnosticKind::kRefused);
  EXPECT_EQ(reply->service, 0x19);
  EXPECT_EQ(reply->refusal, 0x78);
  EXPECT_EQ(refusal_word(0x78), "received, answer follows");
  EXPECT_EQ(refusal_word(0x01), "");
}

TEST(UdsCodes, OtherMessagesAreNone) {
  for (const Bytes& bytes : {Bytes{}, Bytes{0x62, 0xF1, 0x90}, Bytes{0x59}, Bytes{0x59, 0x02}, Bytes{0x59, 0x77, 1, 2},
                             Bytes{0x7F, 0x19}, Bytes{0x19, 0x02, 0xFF}}) {
    EXPECT_FALSE(read_diagnostic_reply(bytes));
  }
}

TEST(UdsCodes, WordsOfStatusAndFailureType) {
  ASSERT_EQ(status_bits().size(), 8U);
  for (std::uint8_t bit = 0; bit < 8; ++bit) EXPECT_EQ(status_bits()[bit].bit, bit);
  EXPECT_EQ(failure_type_word(0x13), "open");
  EXPECT_EQ(failure_type_word(0x87), "");
}

}  // namespace
}  // namespace halfsplit::can
