// SPDX-License-Identifier: Apache-2.0
#include "formats/wire_list_csv.h"

#include <gtest/gtest.h>

#include "formats/loom_text.h"
#include "text/csv.h"

namespace halfsplit::formats {
namespace {

TEST(WireListCsv, OneRowAWireWithTheKeysOfWires) {
  const auto loom = read_loom_text("t", R"(
loom = 1
name = "t"
[places.tail]
[connectors.J4]
sides = ["cab", "rear"]
[splices."S, left"]
[wires.w1]
from = "S, left"
to = "J4:2@rear"
ohm = 0.5
hazard = "brakes"
caution = "Hot, let it cool"
rate = 2
[runs]
r = "S, left -[RD-WH 0.5mm2 2.1m bundle=rear place=tail pair=can]-> J4:1 -> chassis"
)");
  ASSERT_TRUE(loom.ok()) << base::format_diagnostics(loom.diagnostics());
  EXPECT_EQ(write_wire_list_csv(*loom),
            "name,from,to,colour,size_mm2,length_m,ohm,bundle,pair,place,hazard,rate,repair_minutes,part_money,"
            "caution\n"
            "w1,\"S, left\",J4:2@rear,,,,0.5,,,,brakes,2,,,\"Hot, let it cool\"\n"
            "r.1,\"S, left\",J4:1@cab,RD/WH,0.5,2.1,,rear,can,tail,,,,,\n"
            "r.2,J4:1@rear,chassis,,,,,,,,,,,,\n");
}

TEST(WireListCsv, QuotesAreDoubled) {  // RFC 4180, section 2, rule 7
  EXPECT_EQ(text::csv_row({"a\"b", "c\nd", "e"}), "\"a\"\"b\",\"c\nd\",e\n");
}

}  // namespace
}  // namespace halfsplit::formats
