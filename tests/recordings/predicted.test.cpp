// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus shows under a fault, on the drain jetter of examples/: pump box modules behind the tank
// plug J6 (feed J6:1, CAN J6:2 and J6:3, ground J6:8). Expected from the drawing by hand: who has no supply, who is cut
// off.
#include <gtest/gtest.h>

#include "evidence/observable_text.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit::predict {
namespace {

class Recorded : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    jetter_ = new test::ExampleLoom(test::load_example(".", "drain-jetter"));
    campaign_ = new Campaign(jetter_->loom, jetter_->netlist, jetter_->universe);
  }
  static void TearDownTestSuite() {
    delete campaign_;
    delete jetter_;
  }

  static evidence::Observable what(const std::string& text) {
    base::Result<evidence::Observable> parsed = evidence::parse_observable(jetter_->loom, jetter_->netlist, text);
    EXPECT_TRUE(parsed.ok()) << text << ": " << (parsed.ok() ? "" : parsed.diagnostics().front().message);
    evidence::Observable observable = std::move(parsed).value();
    observable.configuration.made.insert(jetter_->loom.in_use.begin(), jetter_->loom.in_use.end());
    return observable;
  }
  // Chance of a word under a fault; "" for none.
  static double chance(const std::string& fault, const std::string& test, const std::string& word) {
    const evidence::Observable observable = what(test);
    Case which;
    if (!fault.empty()) {
      const fault::FaultId id = jetter_->universe.find(fault);
      EXPECT_FALSE(id.is_none()) << fault;
      which.faults.emplace_back(id, 0.5);
    }
    const base::Result<evidence::Seen> seen = evidence::parse_seen(observable, word);
    EXPECT_TRUE(seen.ok()) << word;
    return evidence::chance_of(campaign_->predict_one(which, observable), seen->category);
  }

  static test::ExampleLoom* jetter_;
  static Campaign* campaign_;
};
test::ExampleLoom* Recorded::jetter_ = nullptr;
Campaign* Recorded::campaign_ = nullptr;

constexpr const char* kBox = "quiet PMP + REL + RCV while ECU + LGT + VCU on vehicle";

TEST_F(Recorded, AHealthyBusIsHeardWholeAndNobodyGoesQuiet) {
  for (const char* module : {"ECU", "TCU", "BRK", "DSP", "VCU", "LGT", "PMP", "REL", "RCV"})
    EXPECT_GT(chance("", std::string("heard ") + module + " on vehicle", "yes"), 0.99) << module;
  EXPECT_GT(chance("", kBox, "no"), 0.99);
  EXPECT_GT(chance("", "hears PMP from DSP", "yes"), 0.98);
}

TEST_F(Recorded, WhoHasNoGroundIsNeverHeardWhenItIsOpenForGood) {
  for (const char* module : {"PMP", "REL", "RCV"})
    EXPECT_GT(chance("J6:8 open", std::string("heard ") + module + " on vehicle", "never"), 0.98) << module;
  EXPECT_GT(chance("J6:8 open", "heard LGT on vehicle", "yes"), 0.98);
  // Quiet for a while is not what a lasting fault looks like.
  EXPECT_GT(chance("J6:8 open", kBox, "no"), 0.98);
}

TEST_F(Recorded, WhatComesAndGoesHasBothMoments) {
  const std::string fault = "J6:8 comes and goes";
  EXPECT_NEAR(chance(fault, "heard PMP on vehicle", "never"), 0.3, 0.02);
  EXPECT_NEAR(chance(fault, kBox, "restarts"), 0.4 * 0.95, 0.02);
  EXPECT_LT(chance(fault, kBox, "returns"), 0.03);
  // Part of the group, or one too many: another fault.
  EXPECT_LT(chance(fault, "quiet PMP while ECU + REL + RCV on vehicle", "restarts"), 0.01);
  EXPECT_LT(chance(fault, "quiet PMP + REL + RCV + LGT while ECU on vehicle", "restarts"), 0.01);
}

TEST_F(Recorded, ABrokenBusWireCutsOffWithoutARestart) {
  // CAN high open behind the lamp unit: the pump box is not heard and does not restart.
  const std::string fault = "J6:2 comes and goes";
  const double returns = chance(fault, kBox, "returns");
  EXPECT_LT(chance(fault, kBox, "restarts"), 0.1);
  EXPECT_GT(returns, 2.0 * chance(fault, kBox, "restarts"));
}

TEST_F(Recorded, TheTapHearsItsOwnSideOfABreak) {
  const std::string open = "J6:2 open";
  // At the socket in the cab: the cab's side. At the receiver, behind the break: the pump box.
  EXPECT_GT(chance(open, "heard PMP on vehicle at RCV.A:3@loom RCV.A:4@loom", "yes"),
            chance(open, "heard PMP on vehicle", "yes") + 0.3);
  EXPECT_GT(chance(open, "heard ECU on vehicle", "yes"),
            chance(open, "heard ECU on vehicle at RCV.A:3@loom RCV.A:4@loom", "yes") + 0.3);
}

TEST_F(Recorded, ATapAtTheDrawnReaderIsTheDrawnReader) {
  for (const char* fault : {"", "J6:2 open", "J6:8 comes and goes"})
    for (const char* module : {"PMP", "ECU"})
      EXPECT_DOUBLE_EQ(chance(fault, std::string("heard ") + module + " on vehicle", "yes"),
                       chance(fault, std::string("heard ") + module + " on vehicle at X9:C@loom X9:D@loom", "yes"))
          << fault << " " << module;
}

TEST_F(Recorded, WhoIsCutOffAnswersNobody) {
  EXPECT_GT(chance("J6:8 open", "hears PMP from DSP", "no"), 0.98);
  EXPECT_GT(chance("J6:8 open", "hears ECU from DSP", "yes"), 0.98);
}

TEST_F(Recorded, TextsComeBackAsTheyWere) {
  for (const char* text : {"heard PMP on vehicle", "heard PMP on vehicle at X9:C@loom X9:D@loom", "hears PMP from DSP",
                           "quiet PMP + REL on vehicle",
                           "quiet REL + PMP while VCU + ECU + PMP on vehicle at RCV.A:3@loom RCV.A:4@loom"}) {
    const evidence::Observable one = what(text);
    const std::string written = evidence::format_observable(jetter_->loom, jetter_->netlist, one);
    EXPECT_EQ(what(written), one) << text << " -> " << written;
  }
  // Who was quiet was not heard all the while.
  EXPECT_EQ(
      evidence::format_observable(jetter_->loom, jetter_->netlist, what("quiet REL + PMP while VCU + PMP on vehicle")),
      "quiet PMP + REL while VCU on vehicle");
}

TEST_F(Recorded, WrongTextsSayWhatIsWrong) {
  const auto code = [](const std::string& text) {
    const auto parsed = evidence::parse_observable(jetter_->loom, jetter_->netlist, text);
    return parsed.ok() ? std::string("read") : parsed.diagnostics().front().code;
  };
  EXPECT_EQ(code("heard PMP"), "test.no-bus");
  EXPECT_EQ(code("heard PMP on vehicel"), "test.unknown-name");
  EXPECT_EQ(code("heard PUM on vehicle"), "test.unknown-name");
  EXPECT_EQ(code("heard PMP + REL on vehicle"), "test.one-module");
  EXPECT_EQ(code("heard PMP on vehicle at X9:C@loom"), "test.two-points");
  EXPECT_EQ(code("quiet PMP while on vehicle"), "test.unknown-name");
  EXPECT_EQ(code("hears PMP"), "test.hears-whom");
  EXPECT_EQ(code("hears PMP from PMP"), "test.hears-whom");
}

}  // namespace
}  // namespace halfsplit::predict
