// SPDX-License-Identifier: Apache-2.0
// The virtual bus, and the way back from its recording to the fault: who is quiet is read off the drawing of the drain
// jetter by hand.
#include "app/virtual_bus.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "app/recording_rounds.h"
#include "base/fakes.h"
#include "evidence/recorded_text.h"
#include "tests/support/example_loom.h"

namespace halfsplit::app {
namespace {

class VirtualBus : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    loom_ = new LoadedLoom;
    test::ExampleLoom example = test::load_example(".", "drain-jetter");
    loom_->loom = std::move(example.loom);
    loom_->netlist = std::move(example.netlist);
    loom_->universe = fault::make_universe(loom_->loom, loom_->netlist);
  }
  static void TearDownTestSuite() { delete loom_; }

  static VirtualVehicle vehicle(const std::string& fault, std::uint64_t seed) {
    return VirtualVehicle::make(*loom_, {seed, fault, 0.5, 0.0, {}}).value();
  }
  static RecordedBus recorded(const std::string& fault, std::uint64_t seed, double seconds = 120.0) {
    return record_virtual(*loom_, vehicle(fault, seed), *reader_tap(loom_->loom), seconds, seed).recorded;
  }
  static std::string names(const std::vector<circuit::ModuleId>& modules) {
    return evidence::joined_modules(loom_->loom, modules);
  }
  static LoadedLoom* loom_;
};
LoadedLoom* VirtualBus::loom_ = nullptr;

TEST_F(VirtualBus, PutsOneFrameBehindTheOtherAndTheSameSeedTheSame) {
  const TapOptions options{*reader_tap(loom_->loom), 20.0, 7};
  const VirtualVehicle one = vehicle("J6:8 comes and goes", 7);
  const TappedBus a = tap_bus(one, options, {}), b = tap_bus(one, options, {});
  ASSERT_GT(a.frames.size(), 2000U);  // engine speed alone is a hundred a second
  ASSERT_EQ(a.frames.size(), b.frames.size());
  for (std::size_t i = 0; i < a.frames.size(); ++i) {
    const can::Frame& frame = a.frames[i];
    EXPECT_EQ(frame.line, i + 1);
    EXPECT_EQ(frame.time_us, b.frames[i].time_us);
    EXPECT_EQ(frame.id, b.frames[i].id);
    if (i == 0) continue;
    // At 250 kbit/s the shortest frame of 29 bits and 8 bytes takes 524 us (ISO 11898-1: 131 bits without stuffing).
    EXPECT_GE(frame.time_us - a.frames[i - 1].time_us, a.frames[i - 1].length == 8 ? 524 : 0);
  }
}

TEST_F(VirtualBus, AGroundThatComesAndGoesTakesItsThreeModulesTogetherAndTheyStartAnew) {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    const RecordedBus told = recorded("J6:8 comes and goes", seed);
    EXPECT_TRUE(told.never.empty()) << names(told.never);
    ASSERT_FALSE(told.quiet.empty()) << seed;
    EXPECT_EQ(names(told.quiet.front().who), "PMP + REL + RCV") << seed;
    EXPECT_EQ(told.quiet.front().end, QuietTogether::End::kRestarts) << seed;
    EXPECT_EQ(told.quiet.size(), 1U) << seed << " " << recorded_shows(*loom_, told);
  }
}

TEST_F(VirtualBus, ABusWireThatComesAndGoesTakesThemWithoutAStart) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const RecordedBus told = recorded("J6:2 comes and goes", seed);
    ASSERT_FALSE(told.quiet.empty()) << seed;
    EXPECT_EQ(names(told.quiet.front().who), "PMP + REL + RCV") << seed;
    EXPECT_EQ(told.quiet.front().end, QuietTogether::End::kReturns) << seed;
  }
}

TEST_F(VirtualBus, AnOpenGroundIsNeverHeardAndItsCodesAreTold) {
  const RecordedBus told = recorded("J6:8 open", 3);
  EXPECT_EQ(names(told.never), "PMP + REL + RCV");
  EXPECT_TRUE(told.quiet.empty());
  std::vector<std::string> active;
  for (const ToldCode& code : told.codes) {
    EXPECT_FALSE(code.past);
    active.push_back(loom_->loom.codes[code.code.index()].name);
  }
  // VCU and DSP miss them; each monitor is fitted with the chance that its record gives.
  EXPECT_GE(active.size(), 3U);
  EXPECT_TRUE(std::all_of(active.begin(), active.end(), [](const std::string& name) {
    return name.starts_with("VCU SPN 52033") || name == "DSP SPN 520341 FMI 9";
  }));
}

TEST_F(VirtualBus, TooShortARecordingSaysOfNobodyThatItIsNeverHeard) {
  EXPECT_TRUE(recorded("J6:8 open", 3, 5.0).never.empty());
  EXPECT_FALSE(recorded("J6:8 open", 3, 15.0).never.empty());
}

TEST_F(VirtualBus, FromTheRecordingBackToTheFault) {
  base::MemoryFiles files;
  base::FixedClock clock{0};
  const std::shared_ptr<Cache> cache = make_cache();
  Context context{files, clock, *cache, nullptr, {}};
  files.files["jetter.loom.toml"] = test::read_file("examples/drain-jetter/drain-jetter.loom.toml").value();
  RecordingOptions options;
  options.looms = {"jetter.loom.toml"};
  options.count = 12;
  options.seed = 40;
  const Reply reply = measure_recordings(context, options);
  ASSERT_EQ(reply.exit_code, 0) << reply.text;
  const Json& all = reply.result["all"];
  EXPECT_EQ(all["vehicles"], 12);
  // A recording cannot part a feed from its ground, nor high from low; but it leaves the right one among the first.
  EXPECT_GE(all["alike"].get<int>(), 9) << reply.text;
  EXPECT_GE(all["in_three"].get<int>(), 4) << reply.text;
}

}  // namespace
}  // namespace halfsplit::app
