// SPDX-License-Identifier: Apache-2.0
// What hands and eyes find does not hang on how the circuit rests: their chances add up to 1 also where some of what
// tolerances allow finds no rest (a relay that chatters, on a loom written for tests).
#include <gtest/gtest.h>

#include "evidence/observable_text.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

class HandsAndEyes : public ::testing::Test {
 protected:
  HandsAndEyes() {
    loom_ = formats::read_loom("./tests/data/looms/quillon.loom.toml", test::read_file).value();
    netlist_ = circuit::build_netlist(loom_);
    universe_ = fault::make_universe(loom_, netlist_);
    for (std::size_t s = 0; s < loom_.setups.size(); ++s)
      for (const char* name : {"isolator-on", "key-on", "engine-running"})
        if (loom_.setups[s].name == name) state_.made.insert(circuit::SetupId(s));
    for (std::size_t c = 0; c < loom_.connectors.size(); ++c)
      if (loom_.connectors[c].name == "DISPLAY") state_.unplugged.insert(circuit::ConnectorId(c));
    const circuit::PointId a = *circuit::find_point(netlist_, "F1:1@unit");
    const circuit::PointId b = *circuit::find_point(netlist_, "L2:2@unit");
    state_.fitted.insert({circuit::Fitted::Kind::kStandIn, std::min(a, b), std::max(a, b), 47000.0});
  }
  double sum(predict::Campaign& campaign, const std::string& words) {
    evidence::Observable what = evidence::parse_observable(loom_, netlist_, words).value();
    what.configuration = state_;
    const predict::Case broken{{{universe_.find("RP 2-3 open"), 0.75}}};
    double sum = 0.0;
    for (const evidence::Component& c : campaign.predict_one(broken, what).components) sum += c.weight;
    return sum;
  }
  circuit::Loom loom_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  circuit::Configuration state_;
};

TEST_F(HandsAndEyes, AddUpToOneWhereReadingsDoNot) {
  predict::Campaign campaign(loom_, netlist_, universe_);
  EXPECT_LT(sum(campaign, "volts F1:1 L2:2"), 1.0 - 1e-4);
  for (const char* words : {"cool J9", "heat J9", "wiggle J9", "inspect F1:1"})
    EXPECT_NEAR(sum(campaign, words), 1.0, 1e-6) << words;
}

}  // namespace
}  // namespace halfsplit
