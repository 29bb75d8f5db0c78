// SPDX-License-Identifier: Apache-2.0
// The quick way against a slow one, bit by bit; values made by another program are in tests/frames.
#include "can/signals.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

#include "base/rng.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

// Walks one bit at a time, as the page of the format draws it.
std::optional<std::uint64_t> bit_by_bit(const Signal& signal, const Bytes& bytes) {
  if (signal.length_bits == 0 || signal.length_bits > 64) return std::nullopt;
  std::uint64_t value = 0;
  std::size_t at = signal.start_bit;
  for (unsigned k = 0; k < signal.length_bits; ++k) {
    if (at / 8 >= bytes.size()) return std::nullopt;
    const std::uint64_t bit = bytes[at / 8] >> (at % 8) & 1U;
    if (signal.order == ByteOrder::kLowestFirst) {
      value |= bit << k;
      ++at;
    } else {
      value = value << 1 | bit;
      at = at % 8 == 0 ? at + 15 : at - 1;
    }
  }
  return value;
}

TEST(Signals, BitsAreThoseOfTheSlowWay) {
  base::Rng rng(64);
  for (int round = 0; round < 30'000; ++round) {
    Signal signal;
    signal.start_bit = static_cast<std::uint16_t>(rng.below(80));
    signal.length_bits = static_cast<std::uint16_t>(rng.below(67));
    signal.order = rng.chance(0.5) ? ByteOrder::kLowestFirst : ByteOrder::kHighestFirst;
    Bytes bytes(rng.below(12));
    for (std::uint8_t& byte : bytes) byte = static_cast<std::uint8_t>(rng.below(256));
    ASSERT_EQ(raw_bits(signal, bytes), bit_by_bit(signal, bytes))
        << signal.start_bit << " " << signal.length_bits << " " << bytes.size();
  }
}

TEST(Signals, SignsFactorsAndOffsets) {
  Signal signal;
  signal.length_bits = 8;
  signal.factor = 0.5;
  signal.offset = -40;
  EXPECT_EQ(signal_value(signal, Bytes{0xFF})->value, 87.5);
  signal.number = NumberKind::kSigned;
  EXPECT_EQ(signal_value(signal, Bytes{0xFF})->value, -40.5);
  EXPECT_EQ(signal_value(signal, Bytes{0x7F})->value, 23.5);
  signal.length_bits = 64;
  EXPECT_EQ(signal_value(signal, Bytes(8, 0xFF))->value, -40.5);
  signal.length_bits = 1;
  EXPECT_EQ(signal_value(signal, Bytes{1})->value, -40.5);
}

TEST(Signals, FloatingNumbers) {
  Signal signal;
  signal.number = NumberKind::kFloat;
  signal.length_bits = 32;
  EXPECT_EQ(signal_value(signal, Bytes{0, 0, 0xC0, 0x3F})->value, 1.5);
  signal.length_bits = 64;
  EXPECT_EQ(signal_value(signal, Bytes{0, 0, 0, 0, 0, 0, 0xF8, 0xBF})->value, -1.5);
  signal.length_bits = 16;
  EXPECT_FALSE(signal_value(signal, Bytes{0, 0}));
}

TEST(Signals, WordsOfRawValues) {
  Signal signal;
  signal.length_bits = 8;
  signal.number = NumberKind::kSigned;
  signal.words = {{-1, "none"}, {0, "off"}, {2, "on"}};
  EXPECT_EQ(signal_value(signal, Bytes{0xFF})->word, "none");
  EXPECT_EQ(signal_value(signal, Bytes{2})->word, "on");
  EXPECT_EQ(signal_value(signal, Bytes{1})->word, "");
}

TEST(Signals, SelectedOnesAreThereWhenTheirSelectorSaysSo) {
  Message message;
  message.signals.resize(4);
  message.signals[0].name = "which";
  message.signals[0].length_bits = 8;
  message.signals[0].selector = true;
  for (std::size_t k = 1; k < 4; ++k) {
    message.signals[k].name = std::string(1, static_cast<char>('a' + k));
    message.signals[k].start_bit = 8;
    message.signals[k].length_bits = 8;
  }
  message.signals[1].selected = Selected{"which", {{1, 1}, {5, 7}}};
  message.signals[2].selected = Selected{"b", {{9, 9}}};  // only inside the other
  message.signals[3].selected = Selected{"nobody", {{0, 255}}};
  const auto names = [&](const Bytes& bytes) {
    std::string all;
    for (const SignalValue& value : signal_values(message, bytes)) all += value.signal->name + " ";
    return all;
  };
  EXPECT_EQ(names({0, 9}), "which ");
  EXPECT_EQ(names({1, 8}), "which b ");
  EXPECT_EQ(names({6, 9}), "which b c ");
  EXPECT_EQ(names({6}), "which ");
  EXPECT_EQ(names({}), "");
}

TEST(Signals, SelectorsThatTurnInCirclesAreNotFollowed) {
  Message message;
  message.signals.resize(2);
  message.signals[0].name = "a";
  message.signals[0].selected = Selected{"b", {{0, 1}}};
  message.signals[1].name = "b";
  message.signals[1].selected = Selected{"a", {{0, 1}}};
  EXPECT_TRUE(signal_values(message, Bytes{0xFF}).empty());
}

TEST(Signals, MessagesAreFoundByIdentifierOrGroup) {
  Descriptions all;
  all.messages.resize(3);
  all.messages[0] = Message{};
  all.messages[0].id = 0x123;
  all.messages[1].id = 0x18FEF1FE;
  all.messages[1].extended = all.messages[1].by_group = true;
  all.messages[2].id = 0x18FEF117;
  all.messages[2].extended = true;
  EXPECT_EQ(find_message(all, 0x123, false), &all.messages[0]);
  EXPECT_EQ(find_message(all, 0x123, true), nullptr);
  EXPECT_EQ(find_message(all, 0x0CFEF100, true), &all.messages[1]);
  EXPECT_EQ(find_message(all, 0x18FEF117, true), &all.messages[2]);
  EXPECT_EQ(find_message(all, 0x18FEF200, true), nullptr);
}

}  // namespace
}  // namespace halfsplit::can
