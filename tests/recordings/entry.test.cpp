// SPDX-License-Identifier: Apache-2.0
// A recording as an entry of a job: text and back, and the readings it stands for.
#include <gtest/gtest.h>

#include "app/recorded_bus.h"
#include "base/rng.h"
#include "evidence/observable_text.h"
#include "tests/support/example_loom.h"

namespace halfsplit::app {
namespace {

class Entry : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    loom_ = new LoadedLoom;
    test::ExampleLoom example = test::load_example(".", "drain-jetter");
    loom_->loom = std::move(example.loom);
    loom_->netlist = std::move(example.netlist);
  }
  static void TearDownTestSuite() { delete loom_; }

  static std::vector<std::string> told(const std::string& what, const std::string& shows) {
    const base::Result<RecordedBus> recorded = parse_recorded_bus(*loom_, what, shows);
    if (!recorded) return {recorded.diagnostics().front().code};
    std::vector<std::string> texts;
    for (const evidence::Observation& one : readings_of(*recorded))
      texts.push_back(evidence::format_observable(loom_->loom, loom_->netlist, one.what) + ": " +
                      evidence::format_seen(loom_->loom, one.what, one.seen));
    return texts;
  }
  static LoadedLoom* loom_;
};
LoadedLoom* Entry::loom_ = nullptr;

TEST_F(Entry, IsOneReadingForEachThingItTells) {
  EXPECT_EQ(
      told("recording on vehicle",
           "heard ECU + PMP + RCV; never LGT; restarts RCV + PMP (3 times: 12-40, 77-90); hears PMP from ECU; "
           "deaf ECU to PMP (5 asked); file morning run.log"),
      (std::vector<std::string>{"heard ECU on vehicle: yes", "heard PMP on vehicle: yes", "heard RCV on vehicle: yes",
                                "heard LGT on vehicle: never", "quiet PMP + RCV while ECU on vehicle: restarts",
                                "hears PMP from ECU: yes", "hears ECU from PMP: no"}));
}

TEST_F(Entry, SaysWhatIsWrong) {
  EXPECT_EQ(told("recording", "heard ECU"), std::vector<std::string>{"test.no-bus"});
  EXPECT_EQ(told("recording on vehicle", "saw ECU"), std::vector<std::string>{"saw.recording-item"});
  EXPECT_EQ(told("recording on vehicle", "heard"), std::vector<std::string>{"saw.recording-item"});
  EXPECT_EQ(told("recording on vehicle", "heard EGU"), std::vector<std::string>{"test.unknown-name"});
  EXPECT_EQ(told("recording on vehicle", "hears PMP to ECU"), std::vector<std::string>{"saw.recording-item"});
  EXPECT_EQ(told("recording on vehicle", "").size(), 0U);
}

TEST_F(Entry, ComesBackFromItsText) {
  base::Rng rng(20261126);
  const auto some = [&](std::size_t least) {
    std::vector<circuit::ModuleId> ids;
    for (std::size_t m = 0; m < loom_->loom.modules.size(); ++m)
      if (rng.chance(0.4) || (ids.empty() && m + least >= loom_->loom.modules.size())) ids.emplace_back(m);
    return ids;
  };
  for (int turn = 0; turn < 300; ++turn) {
    RecordedBus recorded;
    recorded.tap.bus = circuit::BusId(std::size_t{0});
    recorded.heard = some(0);
    recorded.never = some(0);
    for (int i = 0; i < 2; ++i)
      if (rng.chance(0.5))
        recorded.quiet.push_back(
            {some(1), static_cast<QuietTogether::End>(rng.below(3)), rng.chance(0.5) ? "2 times: 1-2" : "", {}});
    if (rng.chance(0.5)) recorded.quiet.push_back({some(1), QuietTogether::End::kReturns, "", some(1)});
    if (rng.chance(0.5))
      recorded.answered.push_back({circuit::ModuleId(rng.below(4)), circuit::ModuleId(4 + rng.below(4)),
                                   rng.chance(0.5), rng.chance(0.5) ? "4 asked" : ""});
    if (rng.chance(0.5)) recorded.file = "a b.log";
    const std::string what = recorded_what(*loom_, recorded), shows = recorded_shows(*loom_, recorded);
    const base::Result<RecordedBus> again = parse_recorded_bus(*loom_, what, shows);
    ASSERT_TRUE(again.ok()) << shows;
    EXPECT_EQ(recorded_what(*loom_, *again), what);
    EXPECT_EQ(recorded_shows(*loom_, *again), shows);
    EXPECT_EQ(again->heard, recorded.heard);
    EXPECT_EQ(again->never, recorded.never);
    ASSERT_EQ(again->quiet.size(), recorded.quiet.size());
    for (std::size_t i = 0; i < again->quiet.size(); ++i) {
      EXPECT_EQ(again->quiet[i].who, recorded.quiet[i].who);
      EXPECT_EQ(again->quiet[i].end, recorded.quiet[i].end);
    }
  }
}

TEST_F(Entry, StaysCalmOnAnything) {
  base::Rng rng(77);
  const std::string seed =
      "heard ECU + PMP; never LGT; restarts RCV + PMP while ECU (3 times: 12-40); hears PMP from ECU; deaf ECU to PMP; "
      "past VCU SPN 520331 FMI 9; file a.log";
  for (int turn = 0; turn < 5000; ++turn) {
    std::string shows = seed;
    for (std::size_t i = 1 + rng.below(4); i > 0; --i) {
      const std::size_t at = rng.below(shows.size());
      if (rng.chance(0.3))
        shows.erase(at, rng.below(20));
      else
        shows[at] = "();+ \n0aE"[rng.below(9)];
      if (shows.empty()) shows = " ";
    }
    const base::Result<RecordedBus> told = parse_recorded_bus(*loom_, "recording on vehicle", shows);
    if (!told) {
      EXPECT_FALSE(told.diagnostics().front().hint.empty()) << shows;
      continue;
    }
    // What was read comes back from its own words.
    const std::string again = recorded_shows(*loom_, *told);
    const base::Result<RecordedBus> twice = parse_recorded_bus(*loom_, "recording on vehicle", again);
    ASSERT_TRUE(twice.ok()) << shows << " -> " << again;
    EXPECT_EQ(recorded_shows(*loom_, *twice), again);
  }
}

}  // namespace
}  // namespace halfsplit::app
