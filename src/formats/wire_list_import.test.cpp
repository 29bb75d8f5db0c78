// SPDX-License-Identifier: Apache-2.0
#include "formats/wire_list_import.h"

#include <gtest/gtest.h>

#include "formats/loom_text.h"
#include "formats/sketch.h"

namespace halfsplit::formats {
namespace {

std::vector<std::string> meanings(const WireList& list) {
  std::vector<std::string> found;
  for (const WireListColumn& one : list.columns) found.push_back(one.meaning);
  return found;
}

TEST(WireListImport, GermanHeadsSemicolonsAndDecimalCommas) {
  const auto list = read_wire_list_csv(
      "w.csv",
      "\xEF\xBB\xBFLeitung;Von;Von Pin;Nach;Nach Pin;Farbe;Querschnitt (mm²);Länge [mm];Bemerkung\r\n"
      "W1;F3;;J4;3;rd/ws;0,75;2100;\r\n"
      "W2;J4;3;E1;;RDWH;1,5;800;neu\r\n",
      {});
  ASSERT_TRUE(list.ok()) << base::format_diagnostics(list.diagnostics());
  EXPECT_EQ(list->separator, ';');
  EXPECT_EQ(meanings(*list),
            (std::vector<std::string>{"name", "from", "from-pin", "to", "to-pin", "colour", "size", "length-mm", ""}));
  ASSERT_EQ(list->paths.size(), 2U);
  EXPECT_EQ(list->paths[0], "F3 -[0.75mm2 2.1m name='W1']-> J4:3");
  EXPECT_EQ(list->paths[1], "J4:3 -[RD/WH 1.5mm2 0.8m name='W2']-> E1");
  ASSERT_EQ(list->left_out.size(), 1U);  // "ws" is no code of IEC 60757
  EXPECT_EQ(list->left_out[0].where.line, 2U);
}

TEST(WireListImport, ColumnsArePutRight) {
  const auto list = read_wire_list_csv("w.csv", "a,b,c\nF1,E1,RD\n", {"from=1", "to=b", "colour=3"});
  ASSERT_TRUE(list.ok());
  EXPECT_EQ(list->paths, (std::vector<std::string>{"F1 -[RD]-> E1"}));
  const auto none = read_wire_list_csv("w.csv", "a,b,c\nF1,E1,RD\n", {"from=1"});
  ASSERT_FALSE(none.ok());
  EXPECT_EQ(none.diagnostics().front().code, "csv.no-column");
  EXPECT_EQ(read_wire_list_csv("w", "from,to\nF1,E1\n", {"form=1"}).diagnostics().front().code, "csv.bad-column");
  EXPECT_EQ(read_wire_list_csv("w", "from,to\nF1,E1\n", {"from=9"}).diagnostics().front().code, "csv.bad-column");
}

TEST(WireListImport, WhatIsWrongIsSaidAtItsPlace) {
  const auto bytes = read_wire_list_csv("w", "from,to\nF1,M\xFCller\n", {});
  ASSERT_FALSE(bytes.ok());
  EXPECT_EQ(bytes.diagnostics().front().code, "csv.not-utf8");
  EXPECT_EQ(bytes.diagnostics().front().where.line, 2U);
  EXPECT_EQ(bytes.diagnostics().front().where.column, 5U);
  EXPECT_EQ(read_wire_list_csv("w", "from,to\n\"F1,E1\n", {}).diagnostics().front().code, "csv.open-quote");
  EXPECT_EQ(read_wire_list_csv("w", "", {}).diagnostics().front().code, "csv.empty");
  const auto rows = read_wire_list_csv("w", "from,to,size\nF1,,1\nF1,E1,thick\n", {});
  ASSERT_TRUE(rows.ok());
  EXPECT_EQ(rows->rows, 2U);
  EXPECT_EQ(rows->paths, (std::vector<std::string>{"F1 -[]-> E1"}));
  EXPECT_EQ(rows->left_out.size(), 2U);
}

TEST(WireListImport, ALoomComesOfIt) {
  const auto list = read_wire_list_csv(
      "w", "wire,from,to,colour,size_mm2,length_m\nW1,F3,J4:3@cab,RD,1.5,2\nW2,J4:3@rear,E1,RD,1.5,3\n", {});
  ASSERT_TRUE(list.ok());
  const auto made = sketch_loom(*find_sketch_template("path"), {{"path", list->paths}});
  ASSERT_TRUE(made.ok()) << base::format_diagnostics(made.diagnostics());
  const auto loom = read_loom("t", [&](const std::string&) -> base::Result<std::string> { return made->text; });
  ASSERT_TRUE(loom.ok());
  EXPECT_NE(made->text.find("sides = [\"cab\", \"rear\"]"), std::string::npos) << made->text;
}

}  // namespace
}  // namespace halfsplit::formats
