// SPDX-License-Identifier: Apache-2.0
// Message descriptions that others wrote (tests/data/descriptions): counts as their origins and our own counts give
// them, and places and scaling against the same origin's table in another format.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "formats/description_file.h"

namespace halfsplit::frames {
namespace {

std::string text_of(const std::string& file) {
  std::ifstream stream("tests/data/descriptions/" + file, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  return text.str();
}

formats::DescriptionFile read(const std::string& file) {
  auto result = formats::read_description_text(file, text_of(file));
  EXPECT_TRUE(result.ok()) << base::format_diagnostics(result.diagnostics());
  return result.ok() ? std::move(*result) : formats::DescriptionFile();
}

std::size_t signals_of(const formats::DescriptionFile& file) {
  std::size_t count = 0;
  for (const can::Message& message : file.descriptions.messages) count += message.signals.size();
  return count;
}

TEST(Descriptions, AreReadWithoutAComplaint) {
  for (const char* file : {"iso-n2k-pgn-subset.dbc", "j1939-ids.dbc", "motor-tester.kcd"}) {
    const auto result = formats::read_description_text(file, text_of(file));
    EXPECT_TRUE(result.ok() && result.diagnostics().empty()) << base::format_diagnostics(result.diagnostics());
  }
}

TEST(Descriptions, CountsAsTheirOriginsSay) {
  const formats::DescriptionFile marine = read("iso-n2k-pgn-subset.dbc");
  EXPECT_EQ(marine.descriptions.messages.size(), 70U);
  EXPECT_EQ(signals_of(marine), 312U);
  const formats::DescriptionFile motor = read("motor-tester.kcd");
  EXPECT_EQ(motor.descriptions.messages.size(), 2U);
  EXPECT_EQ(signals_of(motor), 3U);
  EXPECT_EQ(read("message-layout.kcd").descriptions.messages.size(), 8U);
}

TEST(Descriptions, ExtendedIdentifiersAndAttributes) {
  const formats::DescriptionFile file = read("j1939-ids.dbc");
  ASSERT_EQ(file.descriptions.messages.size(), 2U);
  EXPECT_EQ(file.descriptions.messages[0].id, 0x15340201U);
  EXPECT_EQ(file.descriptions.messages[1].id, 0x15F01002U);
  for (const can::Message& message : file.descriptions.messages) {
    EXPECT_TRUE(message.extended);
    EXPECT_TRUE(message.by_group);
  }
  EXPECT_EQ(file.descriptions.messages[0].signals.at(0).spn, 500U);
  EXPECT_FALSE(file.descriptions.messages[1].signals.at(0).spn);
}

TEST(Descriptions, MotorTester) {
  const formats::DescriptionFile file = read("motor-tester.kcd");
  const can::Message* status = can::find_message(file.descriptions, 0x010, false);
  ASSERT_NE(status, nullptr);
  EXPECT_EQ(status->every_ms, 1000.0);
  EXPECT_EQ(status->bus, "MainBus");
  EXPECT_EQ(status->senders, std::vector<std::string>{"Motor"});
  const std::vector<std::uint8_t> bytes = {0x34, 0x12, 0x56};
  const auto values = can::signal_values(*status, bytes);
  ASSERT_EQ(values.size(), 2U);
  EXPECT_EQ(values[0].value, 0x1234);
  EXPECT_EQ(values[1].value, 0x56);
}

// Signals beyond their message and longer than 64 bits are described and have no value.
TEST(Descriptions, AwkwardLayouts) {
  const formats::DescriptionFile file = read("message-layout.kcd");
  const auto by_id = [&](std::uint32_t id) { return can::find_message(file.descriptions, id, false); };
  const std::vector<std::uint8_t> bytes = {0b1000'0001, 0b1000'0000, 0, 0, 0, 0, 0, 0};
  EXPECT_EQ(can::signal_values(*by_id(2), bytes).at(0).bits, 0x81U);
  EXPECT_EQ(can::signal_values(*by_id(4), bytes).at(0).bits, 3U);  // the last bit of one byte, the first of the next
  EXPECT_TRUE(can::signal_values(*by_id(3), std::span(bytes).first(1)).empty());
  EXPECT_TRUE(can::signal_values(*by_id(7), std::vector<std::uint8_t>(16, 0)).empty());
  EXPECT_EQ(by_id(8)->signals.at(0).length_bits, 128);
}

// Each signal of the DBC stands at the place that the JSON table gives the field of that group, with its scaling.
// Messages of several frames are described there by the bytes of one frame: those signals are not in the table.
TEST(Descriptions, PlacesAsInTheTableOfTheSameOrigin) {
  const nlohmann::json table = nlohmann::json::parse(text_of("iso-n2k-places.json"));
  std::multimap<std::uint32_t, const nlohmann::json*> fields;
  for (const nlohmann::json& field : table) fields.emplace(field.at("pgn").get<std::uint32_t>(), &field);
  std::size_t found = 0;
  std::size_t all = 0;
  const formats::DescriptionFile file = read("iso-n2k-pgn-subset.dbc");
  for (const can::Message& message : file.descriptions.messages) {
    const std::uint32_t pgn = message.id >> 8 & 0x3FFFF;
    for (const can::Signal& signal : message.signals) {
      if (signal.name.starts_with("fastPacket")) continue;
      ++all;
      const auto [first, last] = fields.equal_range((pgn & 0xFF00) < 0xF000 ? pgn & 0x3FF00 : pgn);
      for (auto at = first; at != last; ++at) {
        const nlohmann::json& field = *at->second;
        const bool same = field.at("start") == signal.start_bit && field.at("bits") == signal.length_bits &&
                          field.at("signed") == (signal.number == can::NumberKind::kSigned) &&
                          std::abs(field.at("per_bit").get<double>() - signal.factor) <= 1e-9 * signal.factor;
        if (!same) continue;
        ++found;
        break;
      }
    }
  }
  EXPECT_GE(all, 270U);
  EXPECT_EQ(found, all);
}

}  // namespace
}  // namespace halfsplit::frames
