// SPDX-License-Identifier: Apache-2.0
// What `next` weighs: the leading suspects as belief has them, on the demo trailer, where many are as likely.
#include "app/outlook.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "tests/rehearsal/job_on.h"
#include "tests/support/example_loom.h"

namespace halfsplit::app {
namespace {

class OutlookOfTrailer : public ::testing::Test, protected test::JobOn {
 protected:
  OutlookOfTrailer() {
    begin("it", test::read_file("./examples/tipper-trailer/tipper-trailer.loom.toml").value());
    for (const circuit::SetupId setup : session.drawing().in_use)
      enter("did", session.drawing().setups[setup.index()].name);
    for (const char* lamp : {"L1", "L2", "L5", "L6"}) enter("saw", std::string("look ") + lamp, "bright");
    for (const char* lamp : {"L3", "L4"}) enter("saw", std::string("look ") + lamp, "dark");
  }
};

TEST_F(OutlookOfTrailer, ABeliefSpreadThinIsNotTakenForNotOnThisDrawing) {
  const Outlook outlook = look_ahead(context, session);
  ASSERT_LT(belief().posterior.suspects[belief().ranked[5]].probability, 0.1);
  ASSERT_EQ(outlook.suspects.back().name, "not on this drawing");
  EXPECT_LT(outlook.suspects.back().probability, 2.0 * belief().posterior.not_drawn);
  double sum = 0.0;
  for (const candidates::SuspectRows& suspect : outlook.suspects) sum += suspect.probability;
  EXPECT_NEAR(sum, 1.0, 1.0e-9);
}

// Called off, it answers with what it has; nobody looked any more where the supply is on.
TEST_F(OutlookOfTrailer, CalledOffNoOhmsAreOffered) {
  const auto ohms = [&] {
    const Outlook outlook = look_ahead(context, session);
    return std::count_if(outlook.candidates.begin(), outlook.candidates.end(),
                         [](const candidates::Candidate& c) { return c.what.kind == evidence::Kind::kOhms; });
  };
  EXPECT_GT(ohms(), 0);
  context.cancel.cancel();
  EXPECT_EQ(ohms(), 0);
}

TEST_F(OutlookOfTrailer, TheLessProbableGoByWhatMendsThem) {
  const Outlook outlook = look_ahead(context, session);
  const std::size_t leading = 18;
  ASSERT_GT(outlook.suspects.size(), leading + 3);
  std::set<std::vector<fault::RepairId>> repairs;
  std::map<std::uint32_t, double> alone;  // by fault
  for (const infer::Suspect& suspect : belief().posterior.suspects)
    if (suspect.faults.second.is_none()) alone[suspect.faults.first.value] = suspect.probability;
  const double scale = outlook.suspects[0].probability / belief().posterior.suspects[belief().ranked[0]].probability;
  bool several = false;
  for (std::size_t s = leading; s + 1 < outlook.suspects.size(); ++s) {
    EXPECT_TRUE(repairs.insert(outlook.suspects[s].repairs).second) << outlook.suspects[s].name;
    std::set<std::uint32_t> faults;
    double shares = 0.0;
    for (const auto& [row, share] : outlook.suspects[s].rows) {
      faults.insert(belief().rows[row].first.value);
      shares += share;
    }
    EXPECT_NEAR(shares, 1.0, 1.0e-9);
    double together = 0.0;
    for (const std::uint32_t fault : faults) together += alone[fault];
    EXPECT_GT(outlook.suspects[s].probability, 0.99 * scale * together);  // rows left out may be of others still
    several = several || faults.size() > 1;
  }
  EXPECT_TRUE(several);
}

}  // namespace
}  // namespace halfsplit::app
