// SPDX-License-Identifier: Apache-2.0
// Files of others are read in tests/frames.
#include "formats/kcd_text.h"

#include <gtest/gtest.h>

#include "can/signals.h"

namespace halfsplit::formats {
namespace {

std::string network(const std::string& bus) {
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<NetworkDefinition "
         "xmlns=\"http://kayak.2codeornot2code.org/1.0\">\n<Node id=\"1\" name=\"Engine\"/>\n<Bus name=\"Drive\">\n" +
         bus + "\n</Bus>\n</NetworkDefinition>\n";
}

DescriptionFile read_text(const std::string& bus) {
  auto file = read_kcd_text("a.kcd", network(bus));
  EXPECT_TRUE(file.ok()) << base::format_diagnostics(file.diagnostics());
  EXPECT_TRUE(file.diagnostics().empty()) << base::format_diagnostics(file.diagnostics());
  return file.ok() ? std::move(*file) : DescriptionFile();
}

std::string said_of_text(const std::string& text) {
  const auto file = read_kcd_text("a.kcd", text);
  std::string all;
  for (const base::Diagnostic& note : file.diagnostics()) {
    all += note.code + " " + std::to_string(note.where.line) + ":" + std::to_string(note.where.column) + "\n";
  }
  return all;
}

TEST(KcdText, MessagesAndSignals) {
  const DescriptionFile file =
      read_text(R"(<Message id="0x18FEF100" name="Speed" format="extended" length="8" interval="100">
  <Notes>of the road</Notes>
  <Producer><NodeRef id="1"/></Producer>
  <Signal name="Road" offset="8" length="16">
    <Notes>wheel based</Notes>
    <Consumer><NodeRef id="1"/></Consumer>
    <Value type="signed" slope="0.5" intercept="-10" unit="km/h" min="0" max="250"/>
    <LabelSet><Label name="none" value="65535"/><LabelGroup name="slow" from="1" to="3"/></LabelSet>
  </Signal>
  <Signal name="Big" offset="26" length="3" endianess="big"/>
</Message>
<Message id="291" name="Short"/>)");
  ASSERT_EQ(file.descriptions.messages.size(), 2U);
  const can::Message& message = file.descriptions.messages[0];
  EXPECT_EQ(message.id, 0x18FEF100U);
  EXPECT_TRUE(message.extended);
  EXPECT_FALSE(message.by_group);
  EXPECT_EQ(message.bus, "Drive");
  EXPECT_EQ(message.every_ms, 100.0);
  EXPECT_EQ(message.remark, "of the road");
  EXPECT_EQ(message.senders, std::vector<std::string>{"Engine"});
  ASSERT_EQ(message.signals.size(), 2U);
  const can::Signal& road = message.signals[0];
  EXPECT_EQ(road.start_bit, 8);
  EXPECT_EQ(road.length_bits, 16);
  EXPECT_EQ(road.number, can::NumberKind::kSigned);
  EXPECT_EQ(road.factor, 0.5);
  EXPECT_EQ(road.offset, -10.0);
  EXPECT_EQ(road.unit, "km/h");
  EXPECT_EQ(road.most, 250.0);
  EXPECT_EQ(road.remark, "wheel based");
  ASSERT_EQ(road.words.size(), 4U);
  EXPECT_EQ(road.words[0].first, 1);
  EXPECT_EQ(road.words[3].second, "none");
  EXPECT_EQ(message.signals[1].order, can::ByteOrder::kHighestFirst);
  EXPECT_EQ(message.signals[1].start_bit, 3 * 8 + 5);
  EXPECT_EQ(file.descriptions.messages[1].id, 291U);
}

TEST(KcdText, Multiplexes) {
  const DescriptionFile file = read_text(R"(<Message id="1" name="M" length="8">
  <Multiplex name="Which" offset="0" length="8">
    <MuxGroup count="1"><Signal name="A" offset="8" length="8"><Value type="signed"/></Signal></MuxGroup>
    <MuxGroup count="2"><Signal name="B" offset="8" length="8"/></MuxGroup>
    <Value unit="kind"/>
  </Multiplex>
  <Signal name="Always" offset="16" length="1"/>
</Message>)");
  const can::Message& message = file.descriptions.messages.at(0);
  ASSERT_EQ(message.signals.size(), 4U);
  EXPECT_TRUE(message.signals[0].selector);
  EXPECT_EQ(message.signals[0].unit, "kind");
  EXPECT_EQ(message.signals[1].selected->by, "Which");
  EXPECT_EQ(message.signals[1].number, can::NumberKind::kSigned);
  EXPECT_EQ(message.signals[2].selected->values.at(0).first, 2U);
  EXPECT_FALSE(message.signals[3].selected);
}

TEST(KcdText, BrokenNumbersAndSignals) {
  EXPECT_EQ(said_of_text(network("<Message id=\"1\" name=\"M\" length=\"x\"/>")), "kcd.broken-number 5:1\n");
  EXPECT_EQ(said_of_text(network("<Message id=\"0x800\" name=\"M\"/><Message id=\"1\" name=\"M\"/>")),
            "kcd.broken-number 5:1\n");
  EXPECT_EQ(
      said_of_text(network(
          "<Message id=\"1\" name=\"M\" length=\"1\">\n  <Signal name=\"S\" offset=\"7\" length=\"2\"/></Message>")),
      "kcd.impossible-signal 6:3\n");
  EXPECT_EQ(said_of_text(network("<Message id=\"1\" name=\"M\">\n<Signal name=\"S\" length=\"0\"/></Message>")),
            "kcd.impossible-signal 6:1\n");
  EXPECT_EQ(said_of_text(network("<Message id=\"1\" name=\"M\"><Producer><NodeRef id=\"7\"/></Producer></Message>")),
            "kcd.unknown-node 5:36\n");
}

TEST(KcdText, WhatIsNoXmlIsToldWhere) {
  EXPECT_EQ(said_of_text("<a>\n <b>\n</a>"), "kcd.broken-xml 3:3\n");
  EXPECT_EQ(said_of_text(""), "kcd.broken-xml 1:1\n");
  EXPECT_EQ(said_of_text(network("")), "kcd.nothing-described 8:1\n");
}

TEST(KcdText, EntitiesAreRefused) {
  const std::string text =
      "<?xml version=\"1.0\"?>\n<!DOCTYPE a [\n<!ENTITY x \"xxxxxxxx\">\n<!ENTITY y \"&x;&x;&x;\">]>\n" +
      network("&y;").substr(39);
  const auto file = read_kcd_text("a.kcd", text);
  ASSERT_FALSE(file.ok());
  EXPECT_EQ(file.diagnostics().back().code, "kcd.entities");
  EXPECT_EQ(file.diagnostics().back().where.line, 3U);
}

TEST(KcdText, ElementsElsewhereAreNothing) {
  const auto file = read_kcd_text(
      "a.kcd",
      network("<Signal name=\"S\"/><Value unit=\"V\"/><Label name=\"a\" value=\"1\"/><MuxGroup count=\"1\"/><NodeRef "
              "id=\"9\"/><Message id=\"1\" name=\"M\"><Value unit=\"V\"/><Bus name=\"x\"><Message id=\"2\" name=\"N\"/>"
              "</Bus><Notes>n</Notes></Message>"));
  ASSERT_TRUE(file.ok());
  EXPECT_TRUE(file->descriptions.messages.at(0).signals.empty());
  EXPECT_GE(file->passed_over, 4U);
}

// Found by the fuzzer: the inner message took the place of the one whose signal was under way.
TEST(KcdText, AMessageInsideASignalIsPassedOver) {
  const auto file = read_kcd_text(
      "a.kcd", network("<Message id=\"1\" name=\"M\"><Signal name=\"S\"/><Signal name=\"T\"><Bus name=\"x\"><Message "
                       "id=\"2\" name=\"N\"/></Bus><Value unit=\"V\"/></Signal><Signal name=\"U\"/></Message>"));
  ASSERT_TRUE(file.ok());
  ASSERT_EQ(file->descriptions.messages.size(), 1U);
  EXPECT_EQ(file->descriptions.messages[0].signals.at(1).unit, "V");
  EXPECT_EQ(file->descriptions.messages[0].signals.size(), 3U);
}

TEST(KcdText, TheReaderIsChosenByTheText) {
  EXPECT_TRUE(read_description_text("a", "\xEF\xBB\xBF\n" + network("<Message id=\"1\" name=\"M\"/>").substr(39)).ok());
  EXPECT_TRUE(read_description_text("a", "BO_ 1 M: 1 E\n").ok());
  EXPECT_FALSE(read_description_text("a", "").ok());
}

}  // namespace
}  // namespace halfsplit::formats
