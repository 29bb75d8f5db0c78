// SPDX-License-Identifier: Apache-2.0
#include "circuit/code_names.h"

#include <gtest/gtest.h>

namespace halfsplit::circuit {
namespace {

TEST(CodeNames, OneCodeInManyNotations) {
  for (const char* name : {"SPN 639 FMI 9", "SPN639 FMI9", "SPN639FMI9", "spn 639 fmi 9", "SPN: 639 FMI: 9",
                           "SPN 639/9", "639/9", "639-9", "639.9", "639:9", "639 9", "639 FMI 9", "SPN 639 FMI 09",
                           "FMI 9 SPN 639", " 639 / 9 ", "SPN=639, FMI=9", "SPN/FMI 639/9"})
    EXPECT_EQ(usual_code_name(name), "SPN 639 FMI 9") << name;
}

TEST(CodeNames, WhatIsNoSpnWithFmiStays) {
  for (const char* name :
       {"", "639", "SPN 639", "U0155-87", "639/9/3", "SPN 639 FMI 9 OC 3", "639/x", "FMI 9", "9 FMI 639"})
    EXPECT_FALSE(read_spn_fmi(name)) << name;
  EXPECT_EQ(usual_code_name("no messages"), "no messages");
}

TEST(CodeNames, NumbersThatNoCodeHas) {
  EXPECT_TRUE(read_spn_fmi("524287/31"));
  for (const char* name : {"524288/9", "639/32", "99999999999/9"}) EXPECT_FALSE(read_spn_fmi(name)) << name;
  EXPECT_TRUE(is_beyond_spn_fmi("524288/9"));
  EXPECT_TRUE(is_beyond_spn_fmi("SPN 639 FMI 32"));
  EXPECT_FALSE(is_beyond_spn_fmi("639/9"));
  EXPECT_FALSE(is_beyond_spn_fmi("U0155"));
}

class OfALoom : public ::testing::Test {
 protected:
  OfALoom() {
    for (const char* name : {"VCU", "DSP"}) {
      Module module;
      module.name = name;
      loom_.modules.push_back(module);
    }
    add("SPN 639 FMI 9", 0);
    add("DSP SPN 639 FMI 9", 1);
    add("U0155-87", 1);
    add("VCU SPN 625 FMI 19", 0);
  }

  void add(const char* name, std::size_t module) {
    Code code;
    code.name = name;
    code.module = ModuleId(module);
    loom_.codes.push_back(code);
  }

  std::vector<std::string> found(const char* name) const {
    std::vector<std::string> names;
    for (const CodeId id : find_codes(loom_, name)) names.push_back(loom_.codes[id.index()].name);
    return names;
  }

  using Names = std::vector<std::string>;
  Loom loom_;
};

TEST_F(OfALoom, FoundWithOrWithoutTheModule) {
  EXPECT_EQ(found("639/9"), (Names{"SPN 639 FMI 9", "DSP SPN 639 FMI 9"}));
  for (const char* name : {"VCU 639/9", "vcu: spn639 fmi9", "639/9 VCU", "639-9 in VCU"})
    EXPECT_EQ(found(name), (Names{"SPN 639 FMI 9"})) << name;
  EXPECT_EQ(found("DSP 639.9"), (Names{"DSP SPN 639 FMI 9"}));
  EXPECT_EQ(found("625/19"), (Names{"VCU SPN 625 FMI 19"}));
  EXPECT_EQ(found("640/9"), Names{});
  EXPECT_EQ(who_sets(loom_, find_codes(loom_, "639/9")), "VCU (SPN 639 FMI 9), DSP (DSP SPN 639 FMI 9)");
}

TEST_F(OfALoom, LettersWithAndWithoutHyphen) {
  for (const char* name : {"U0155-87", "u0155 87", "U015587", "DSP u0155-87"})
    EXPECT_EQ(found(name), (Names{"U0155-87"})) << name;
  EXPECT_EQ(found("U0155"), Names{});
}

TEST_F(OfALoom, WhatMayBeOneOfThemMisread) {
  for (const char* name : {"639/12", "693/9", "SPN 639", "639 failure 9", "SPN 639 FMI 9 OC 3"})
    EXPECT_TRUE(may_be_code(loom_, CodeId(0), name)) << name;
  for (const char* name : {"640/8", "no messages", "U0155"}) EXPECT_FALSE(may_be_code(loom_, CodeId(0), name)) << name;
  EXPECT_TRUE(may_be_code(loom_, CodeId(2), "U0155"));
  EXPECT_FALSE(may_be_code(loom_, CodeId(2), "U0156"));
}

}  // namespace
}  // namespace halfsplit::circuit
