// SPDX-License-Identifier: Apache-2.0
// Tests offered on a bus: levels with a scope, plugs apart with the bus watched from where the reader sits, a spare
// terminator. On the refuse truck.
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

#include "candidates/generate.h"
#include "evidence/observable_text.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using candidates::Candidate;
using circuit::Fitted;
using evidence::Kind;

class BusCandidates : public ::testing::Test {
 protected:
  BusCandidates() : e_(test::load_example(".", "refuse-truck")), campaign_(e_.loom, e_.netlist, e_.universe) {
    roll_.resistors_ohm = {47.0, 120.0, 1000.0};
    weight_.assign(e_.universe.faults.size(), 0.0);
  }

  void suspect(const std::string& fault) {
    const fault::FaultId id = e_.universe.find(fault);
    ASSERT_FALSE(id.is_none()) << fault;
    weight_[id.index()] = 0.5;
  }

  std::vector<Candidate> offered() {
    candidates::GenerateInput in{e_.loom, e_.netlist, e_.universe, roll_,     candidates::at_work(e_.loom),
                                 weight_, {},         {},          symptoms_, {}};
    in.healthy_volts = [this](const circuit::Configuration& c, circuit::PointId r, circuit::PointId b) {
      return campaign_.healthy_volts(c, r, b);
    };
    return candidates::generate(in);
  }

  std::string words(const Candidate& c) { return evidence::format_observable(e_.loom, e_.netlist, c.what); }
  std::size_t count(const std::function<bool(const Candidate&)>& wanted) {
    const std::vector<Candidate> all = offered();
    return static_cast<std::size_t>(std::count_if(all.begin(), all.end(), wanted));
  }
  bool apart(const Candidate& c, const std::string& plug) {
    return c.what.configuration.unplugged.size() == 1 &&
           e_.loom.connectors[c.what.configuration.unplugged.begin()->index()].name == plug;
  }

  test::ExampleLoom e_;
  predict::Campaign campaign_;
  candidates::Roll roll_;
  std::vector<double> weight_;
  std::vector<evidence::Observable> symptoms_;
};

TEST_F(BusCandidates, LevelsOnlyWithAScope) {
  suspect("J8:2 open");
  const auto levels = [](const Candidate& c) { return c.what.kind == Kind::kHighest || c.what.kind == Kind::kLowest; };
  EXPECT_GT(count(levels), 4U);
  roll_.scope = false;
  EXPECT_EQ(count(levels), 0U);
}

TEST_F(BusCandidates, APlugApartIsWatchedElsewhereOnTheBus) {
  suspect("J8:2 open");
  evidence::Observable code = *evidence::parse_observable(e_.loom, e_.netlist, "code VCU SPN 520312 FMI 9");
  symptoms_ = {code};
  EXPECT_EQ(count([&](const Candidate& c) { return words(c) == "code VCU SPN 520312 FMI 9" && apart(c, "J7"); }), 1U);
  const auto elsewhere = [&](const Candidate& c) {
    return apart(c, "J8") && c.what.kind == Kind::kOhms &&
           e_.netlist.points[c.what.red.index()].connector != *c.what.configuration.unplugged.begin();
  };
  EXPECT_GT(count(elsewhere), 0U);
}

TEST_F(BusCandidates, ABusThatIsNotSuspectedIsLeftAlone) {
  suspect("BAT flat");
  EXPECT_EQ(count([](const Candidate& c) { return c.what.kind == Kind::kHighest; }), 0U);
}

TEST_F(BusCandidates, ASpareTerminatorOnlyWhereOneMayBeMissingAndNotOnBrakes) {
  const auto terminator = [&](const Candidate& c) {
    return std::any_of(c.what.configuration.fitted.begin(), c.what.configuration.fitted.end(),
                       [](const Fitted& f) { return f.kind == Fitted::Kind::kStandIn && f.ohm == 120.0; });
  };
  symptoms_ = {*evidence::parse_observable(e_.loom, e_.netlist, "code VCU SPN 520312 FMI 9")};
  suspect("J8:2 open");
  EXPECT_EQ(count(terminator), 0U);
  suspect("BC2 terminator missing");
  EXPECT_GT(count(terminator), 0U);
  for (circuit::Point& point : e_.netlist.points) point.hazard = circuit::Hazard::kBrakes;
  EXPECT_EQ(count(terminator), 0U);
}

}  // namespace
}  // namespace halfsplit
