// SPDX-License-Identifier: Apache-2.0
// Files of others are read in tests/frames.
#include "formats/dbc_text.h"

#include <gtest/gtest.h>

#include "can/signals.h"

namespace halfsplit::formats {
namespace {

const char* const kHead = R"(VERSION "1"

NS_ :
	NS_DESC_
	CM_
	BA_
	VAL_
	SG_MUL_VAL_

BS_:

BU_: Engine Panel

)";

std::string with_head(const std::string& rest) { return kHead + rest; }

DescriptionFile read(const std::string& rest) {
  auto file = read_dbc_text("a.dbc", with_head(rest));
  EXPECT_TRUE(file.ok()) << base::format_diagnostics(file.diagnostics());
  EXPECT_TRUE(file.diagnostics().empty()) << base::format_diagnostics(file.diagnostics());
  return file.ok() ? std::move(*file) : DescriptionFile();
}

// The codes of what is said about it, each with its line and column in the part below the head.
std::string said(const std::string& rest) {
  const auto file = read_dbc_text("a.dbc", with_head(rest));
  std::string all;
  constexpr std::size_t kHeadLines = 13;
  for (const base::Diagnostic& note : file.diagnostics()) {
    all +=
        note.code + " " + std::to_string(note.where.line - kHeadLines) + ":" + std::to_string(note.where.column) + "\n";
  }
  return all;
}

TEST(DbcText, MessagesAndSignals) {
  const DescriptionFile file = read(R"(BO_ 2364540158 EEC1: 8 Engine
 SG_ EngineSpeed : 24|16@1+ (0.125,0) [0|8031.875] "rpm" Panel,Vector__XXX
 SG_ Torque:16|8@0- (1,-125) [0|0] "%"  Panel

BO_ 291 Short: 2 Vector__XXX
 SG_ A : 7|12@0+ (1,0) [0|0] "" Vector__XXX
)");
  ASSERT_EQ(file.descriptions.messages.size(), 2U);
  const can::Message& message = file.descriptions.messages[0];
  EXPECT_EQ(message.name, "EEC1");
  EXPECT_TRUE(message.extended);
  EXPECT_EQ(message.id, 0x0CF004FEU);
  EXPECT_TRUE(message.by_group);  // the null address sends nothing
  EXPECT_EQ(message.length, 8);
  EXPECT_EQ(message.senders, std::vector<std::string>{"Engine"});
  ASSERT_EQ(message.signals.size(), 2U);
  const can::Signal& speed = message.signals[0];
  EXPECT_EQ(speed.name, "EngineSpeed");
  EXPECT_EQ(speed.start_bit, 24);
  EXPECT_EQ(speed.length_bits, 16);
  EXPECT_EQ(speed.order, can::ByteOrder::kLowestFirst);
  EXPECT_EQ(speed.number, can::NumberKind::kUnsigned);
  EXPECT_EQ(speed.factor, 0.125);
  EXPECT_EQ(speed.most, 8031.875);
  EXPECT_EQ(speed.unit, "rpm");
  const can::Signal& torque = message.signals[1];
  EXPECT_EQ(torque.order, can::ByteOrder::kHighestFirst);
  EXPECT_EQ(torque.number, can::NumberKind::kSigned);
  EXPECT_EQ(torque.offset, -125);
  EXPECT_FALSE(torque.least);
  EXPECT_FALSE(file.descriptions.messages[1].extended);
  EXPECT_TRUE(file.descriptions.messages[1].senders.empty());
}

TEST(DbcText, WordsRemarksAttributes) {
  const DescriptionFile file = read(R"(BO_ 2566844672 CCVS: 8 Engine
 SG_ Brake : 0|2@1+ (1,0) [0|3] "" Panel
 SG_ Force : 32|32@1+ (1,0) [0|0] "N" Panel
CM_ "about
the file";
CM_ BO_ 2566844672 "road speed; and \"brakes\"";
CM_ SG_ 2566844672 Brake "pedal";
BA_DEF_ BO_ "VFrameFormat" ENUM "StandardCAN","ExtendedCAN","reserved","J1939PG";
BA_DEF_ SG_ "SPN" INT 0 524287;
BA_DEF_DEF_ "VFrameFormat" "ExtendedCAN";
BA_DEF_DEF_ "GenMsgCycleTime" 0;
BA_ "VFrameFormat" BO_ 2566844672 3;
BA_ "GenMsgCycleTime" BO_ 2566844672 100;
BA_ "SPN" SG_ 2566844672 Brake 597;
BA_ "SystemSignalLongSymbol" SG_ 2566844672 Force "ForceOfTheBrakePedal";
VAL_TABLE_ OnOff 1 "on" 0 "off" ;
VAL_ 2566844672 Brake 3 "not available" 0 "released" 1 "pressed" ;
SIG_VALTYPE_ 2566844672 Force : 1;
BO_TX_BU_ 2566844672 : Engine,Panel;
SIG_GROUP_ 2566844672 All 1 : Brake Force;
)");
  const can::Message& message = file.descriptions.messages.at(0);
  EXPECT_EQ(message.remark, "road speed; and \"brakes\"");
  EXPECT_TRUE(message.by_group);
  EXPECT_EQ(message.every_ms, 100.0);
  EXPECT_EQ(message.senders, (std::vector<std::string>{"Engine", "Panel"}));
  const can::Signal& brake = message.signals.at(0);
  EXPECT_EQ(brake.remark, "pedal");
  EXPECT_EQ(brake.spn, 597U);
  ASSERT_EQ(brake.words.size(), 3U);
  EXPECT_EQ(brake.words[0].second, "released");
  EXPECT_EQ(brake.words[2].first, 3);
  EXPECT_EQ(message.signals.at(1).number, can::NumberKind::kFloat);
  EXPECT_EQ(message.signals.at(1).name, "ForceOfTheBrakePedal");
  EXPECT_GE(file.passed_over, 3U);
}

TEST(DbcText, Multiplexing) {
  const DescriptionFile file = read(R"(BO_ 100 M: 8 Engine
 SG_ Which M : 0|8@1+ (1,0) [0|0] "" Panel
 SG_ A m0 : 8|8@1+ (1,0) [0|0] "" Panel
 SG_ Inner m1M : 8|8@1+ (1,0) [0|0] "" Panel
 SG_ B m12 : 16|8@1+ (1,0) [0|0] "" Panel
SG_MUL_VAL_ 100 B Inner 12-12, 20-29;
)");
  const can::Message& message = file.descriptions.messages.at(0);
  EXPECT_TRUE(message.signals[0].selector);
  EXPECT_TRUE(message.signals[2].selector);
  EXPECT_EQ(message.signals[1].selected->by, "Which");
  EXPECT_EQ(message.signals[3].selected->by, "Inner");
  ASSERT_EQ(message.signals[3].selected->values.size(), 2U);
  EXPECT_EQ(message.signals[3].selected->values[1].second, 29U);
  const std::vector<std::uint8_t> bytes = {1, 25, 7, 0, 0, 0, 0, 0};
  EXPECT_EQ(can::signal_values(message, bytes).size(), 3U);
}

TEST(DbcText, UnitsInAnOldEncoding) {
  const DescriptionFile file = read(
      "BO_ 1 M: 1 E\n SG_ T : 0|8@1+ (1,-40) [0|0] \"\xB0"
      "C\" P\n");
  EXPECT_EQ(file.descriptions.messages[0].signals[0].unit,
            "\xC2\xB0"
            "C");
}

TEST(DbcText, LinesOfAnyKindOfEnd) {
  std::string text = with_head("BO_ 1 M: 1 E\n SG_ T : 0|8@1+ (1,-40) [0|0] \"V\" P\n\nBO_ 2 N: 1 E\n");
  std::string crlf;
  for (const char c : text) crlf += c == '\n' ? "\r\n" : std::string(1, c);
  const auto file = read_dbc_text("a.dbc", "\xEF\xBB\xBF" + crlf);
  ASSERT_TRUE(file.ok());
  EXPECT_EQ(file->descriptions.messages.size(), 2U);
  EXPECT_EQ(file->descriptions.messages[0].signals.size(), 1U);
  EXPECT_TRUE(file.diagnostics().empty()) << base::format_diagnostics(file.diagnostics());
}

// What is broken is told at its place, and the rest is read.
TEST(DbcText, BrokenStatements) {
  EXPECT_EQ(said("BO_ 1 M: 1 E\n SG_ T : 0-8@1+ (1,0) [0|0] \"\" P\n SG_ U : 0|8@1+ (1,0) [0|0] \"\" P\n"),
            "dbc.broken-statement 2:10\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\n SG_ T : 0|8@1+ (1;0) [0|0] \"\" P\n"), "dbc.broken-statement 2:19\n");
  EXPECT_EQ(said("BO_ 1 M 1 E\nBO_ 2 N: 1 E\n"), "dbc.broken-statement 1:9\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\nhello\nBO_ 2 N: 1 E\n"), "dbc.broken-statement 2:1\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\nVAL_ 1 T 0 \"a\" ;\n"), "dbc.unknown-name 2:1\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\n SG_ T : 0|0@1+ (1,0) [0|0] \"\" P\n"), "dbc.impossible-signal 2:2\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\nBO_ 1 N: 1 E\n"), "dbc.twice-described 2:1\n");
  EXPECT_EQ(said("BO_ 1 M: 1 E\n SG_ T x : 0|1@1+ (1,0) [0|0] \"\" P\n"), "dbc.broken-statement 2:10\n");
  const auto file = read_dbc_text("a.dbc", with_head("BO_ 1 M: 1 E\n SG_ T : x\n SG_ U : 0|8@1+ (1,0) [0|0] \"\" P\n"));
  ASSERT_TRUE(file.ok());
  EXPECT_EQ(file->descriptions.messages[0].signals.at(0).name, "U");
}

TEST(DbcText, AForgottenSemicolonCostsOneStatement) {
  const auto file = read_dbc_text(
      "a.dbc",
      with_head("BO_ 1 M: 1 E\n SG_ T : 0|8@1+ (1,0) [0|0] \"\" P\nBA_ \"X\" BO_ 1 5\nVAL_ 1 T 0 \"a\" 1 \"b\" ;\n"));
  ASSERT_TRUE(file.ok());
  EXPECT_EQ(file->descriptions.messages[0].signals.at(0).words.size(), 2U);
}

TEST(DbcText, ManyComplaintsAreCounted) {
  std::string rest = "BO_ 1 M: 1 E\n";
  for (int k = 0; k < 500; ++k) rest += "VAL_ 1 T 0 \"a\" ;\n";
  const auto file = read_dbc_text("a.dbc", with_head(rest));
  ASSERT_TRUE(file.ok());
  ASSERT_EQ(file.diagnostics().size(), DescriptionNotes::kMostNotes + 1);
  EXPECT_EQ(file.diagnostics().back().message, "480 more of the kind");
}

TEST(DbcText, NothingDescribedIsAnError) {
  for (const char* text : {"", "hello", "VERSION \"\"\nBU_: A B\n", "\"", "BO_ x"}) {
    const auto file = read_dbc_text("a.dbc", text);
    ASSERT_FALSE(file.ok()) << text;
    EXPECT_EQ(file.diagnostics().back().code, "dbc.nothing-described");
  }
}

TEST(DbcText, LooseSignalsAreOfNoMessage) {
  const DescriptionFile file = read(R"(BO_ 3221225472 VECTOR__INDEPENDENT_SIG_MSG: 0 Vector__XXX
 SG_ Lost : 0|8@1+ (1,0) [0|0] "" Vector__XXX
BO_ 1 M: 1 E
VAL_ 3221225472 Lost 0 "a" ;
)");
  ASSERT_EQ(file.descriptions.messages.size(), 1U);
  EXPECT_TRUE(file.descriptions.messages[0].signals.empty());
}

}  // namespace
}  // namespace halfsplit::formats
