// SPDX-License-Identifier: Apache-2.0
// The rules that the program is measured against do what their names say: on one straight circuit written here, and on
// whole virtual vehicles of the gritter.
#include "app/rules.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "app/named_parts.h"
#include "app/player.h"
#include "app/quality.h"
#include "base/fakes.h"
#include "evidence/observable_text.h"
#include "tests/support/example_loom.h"

namespace halfsplit::app {
namespace {

// A lamp behind a fuse and two plugs; the fuse box takes ten minutes to open, the plugs are at hand.
constexpr const char* kLine = R"(loom = 1
name = "straight line, invented"
system_volts = 24
[setups.box-open]
do = 10
undo = 10
[places."fuse box"]
minutes = 1
needs = ["box-open"]
[studs.G1]
[connectors.J1]
sides = ["cab", "frame"]
pins = ["1"]
[connectors.J2]
sides = ["frame", "rear"]
pins = ["1"]
[parts.BAT]
kind = "battery"
[parts.F1]
kind = "fuse"
rating_a = 10
place = "fuse box"
[parts.L1]
kind = "lamp"
watt = 21
part_money = 60
[runs]
feed = "BAT:+ -[RD 2.5mm2 1m]-> F1 -[RD 1mm2 2m]-> J1:1 -[RD 1mm2 4m]-> J2:1 -[RD 1mm2 2m]-> L1 -[BN 1mm2 1m]-> G1"
minus = "BAT:- -[BK 10mm2 1m]-> G1"
)";

class Rules : public ::testing::Test {
 protected:
  void open(const std::string& text) {
    files_.files["it.loom.toml"] = text;
    engine_ = context_.cache.engine(context_, "it.loom.toml").value();
    session_ = Session{};
    session_.engine = engine_;
    session_.state = candidates::at_work(session_.drawing());
  }
  void saw(const std::string& what, const std::string& shows) {
    add_entry(context_, session_, "saw", what, shows, 0.0);
  }
  static std::string gritter() { return test::read_file("./examples/gritter/gritter.loom.toml").value(); }
  VirtualVehicle vehicle(std::uint64_t seed) {
    return VirtualVehicle::make(engine_->loom(), {seed, "", -1.0, 0.0, engine_->meter()}).value();
  }
  std::string name_of(const evidence::Observable& what) {
    return evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
  }
  double position_of(const Positions& positions, const std::string& point) {
    const circuit::Netlist& net = session_.loom().netlist;
    return positions.node[net.points[circuit::find_point(net, point)->index()].node.index()];
  }

  base::MemoryFiles files_;
  base::FixedClock clock_{0};
  std::shared_ptr<Cache> cache_ = make_cache();
  Context context_{files_, clock_, *cache_, nullptr, {}};
  std::shared_ptr<BeliefEngine> engine_;
  Session session_;
};

TEST_F(Rules, PositionsRiseAlongTheWay) {
  open(kLine);
  saw("look L1", "dark");
  const Outlook outlook = look_ahead(context_, session_);
  const Positions positions = positions_along(context_, session_, outlook);
  const double fuse = position_of(positions, "F1:2");
  const double first = position_of(positions, "J1:1");
  const double second = position_of(positions, "J2:1");
  const double lamp = position_of(positions, "L1:1");
  const bool forward = fuse < first && first < second && second < lamp;
  const bool backward = fuse > first && first > second && second > lamp;
  EXPECT_TRUE(forward || backward) << fuse << " " << first << " " << second << " " << lamp;
}

TEST_F(Rules, HalfSplitTakesTheMeterTestNearestTheMiddle) {
  open(kLine);
  saw("look L1", "dark");
  const Outlook outlook = look_ahead(context_, session_);
  const Positions positions = places_alike(positions_along(context_, session_, outlook), outlook);
  const Advice advice = half_split(context_, session_);
  ASSERT_EQ(advice.kind, Advice::Kind::kTest);
  const double chosen = share_between(session_, positions, *advice.test);
  EXPECT_GT(chosen, 0.2) << name_of(*advice.test);
  EXPECT_LT(chosen, 0.8) << name_of(*advice.test);
  for (const std::size_t t : outlook.built.test_of) {
    const candidates::Test& test = outlook.tests[t];
    const double share = share_between(session_, positions, outlook.candidates[test.candidate].what);
    if (test.bits < kLeastTellingBits || share < 0.0) continue;
    EXPECT_LE(std::fabs(chosen - 0.5), std::fabs(share - 0.5) + 1e-9)
        << name_of(*advice.test) << " against " << name_of(outlook.candidates[test.candidate].what);
  }
}

TEST_F(Rules, ByLikelihoodTheProbabilityIsHalved) {
  open(kLine);
  saw("look L1", "dark");
  const Outlook outlook = look_ahead(context_, session_);
  const Positions positions = positions_along(context_, session_, outlook);
  const Advice advice = half_split_by_likelihood(context_, session_);
  ASSERT_EQ(advice.kind, Advice::Kind::kTest);
  const double chosen = share_between(session_, positions, *advice.test);
  for (const std::size_t t : outlook.built.test_of) {
    const candidates::Test& test = outlook.tests[t];
    const double share = share_between(session_, positions, outlook.candidates[test.candidate].what);
    if (test.bits < kLeastTellingBits || share < 0.0) continue;
    EXPECT_LE(std::fabs(chosen - 0.5), std::fabs(share - 0.5) + 1e-9) << name_of(*advice.test);
  }
}

// Places weigh the same however likely what sits there, and together they are the whole.
TEST_F(Rules, ByPositionEachPlaceWeighsTheSame) {
  open(kLine);
  saw("look L1", "dark");
  const Outlook outlook = look_ahead(context_, session_);
  const Positions positions = places_alike(positions_along(context_, session_, outlook), outlook);
  std::map<double, double> places;
  double sum = 0.0;
  for (std::size_t s = 0; s < positions.weight.size(); ++s) {
    sum += positions.weight[s];
    if (outlook.suspects[s].probability < 0.01)
      EXPECT_EQ(positions.weight[s], 0.0) << outlook.suspects[s].name;
    else if (std::isfinite(positions.suspect[s]))
      places[positions.suspect[s]] += positions.weight[s];
  }
  EXPECT_NEAR(sum, 1.0, 1e-12);
  ASSERT_GT(places.size(), 2U);
  for (const auto& [place, weight] : places)
    EXPECT_NEAR(weight, 1.0 / static_cast<double>(places.size()), 1e-12) << place;
}

TEST_F(Rules, MostBitsWeighsNoMinutes) {
  open(kLine);
  saw("look L1", "dark");
  const Outlook outlook = look_ahead(context_, session_);
  double most = 0.0;
  for (const std::size_t t : outlook.built.test_of) most = std::max(most, outlook.tests[t].bits);
  const Advice advice = most_bits(context_, session_);
  ASSERT_EQ(advice.kind, Advice::Kind::kTest);
  EXPECT_DOUBLE_EQ(advice.bits, most);
  EXPECT_GE(advice.bits, advise(context_, session_).bits);
}

TEST_F(Rules, ARuleRepairsWhatLeadsByItsShare) {
  open(kLine);
  saw("look L1", "dark");
  saw("volts J2:1 chassis", "25.2");
  saw("volts L1:1@unit L1:2@unit", "25.2");
  for (const Chooser& rule : {Chooser(half_split), Chooser(half_split_by_likelihood), Chooser(most_bits)}) {
    const Advice advice = rule(context_, session_);
    ASSERT_EQ(advice.kind, Advice::Kind::kRepair);
    EXPECT_EQ(advice.repair, "replace lamp L1");
    EXPECT_GE(advice.repair_probability, kRuleStopsAt);
  }
}

TEST_F(Rules, AStepsMinutesAreThoseOfThePlan) {
  open(kLine);
  saw("look L1", "dark");
  saw("volts J1:1 chassis", "0");
  saw("volts BAT:+ chassis", "25.2");
  const Advice advice = codes_first(context_, session_);
  ASSERT_EQ(advice.kind, Advice::Kind::kRepair);
  double minutes = 0.0;
  for (const AdviceStep& step : advice.steps) minutes += step.minutes;
  EXPECT_DOUBLE_EQ(advice.setup_minutes, minutes);
}

// The lamp is named by the complaint and fitted first; the second time it is something else.
TEST_F(Rules, CodesFirstFitsWhatIsNamed) {
  open(kLine);
  saw("look L1", "dark");
  const Advice first = codes_first(context_, session_);
  ASSERT_EQ(first.kind, Advice::Kind::kRepair);
  EXPECT_EQ(first.repair, "replace lamp L1");
  add_entry(context_, session_, "did", "repaired L1", "", 0.0);
  EXPECT_EQ(codes_first(context_, session_).kind, Advice::Kind::kProve);
  saw("look L1", "dark");
  const Advice second = codes_first(context_, session_);
  ASSERT_EQ(second.kind, Advice::Kind::kRepair);
  EXPECT_NE(second.repair, "replace lamp L1");
}

// Straight to what is wrong, whatever is believed; proof; and nothing more.
TEST_F(Rules, WhoKnowsTheFaultRepairsItProvesItAndLeaves) {
  open(kLine);
  saw("look L1", "dark");
  const fault::Universe& universe = session_.loom().universe;
  const std::vector<fault::RepairId> needs{universe.faults[universe.find("G1 open").index()].repair};
  const Advice first = knowing(context_, session_, needs);
  ASSERT_EQ(first.kind, Advice::Kind::kRepair);
  EXPECT_EQ(first.repairs, needs);
  EXPECT_GT(first.minutes, 0.0);
  add_entry(context_, session_, "did", "repaired " + universe.repairs[needs[0].index()].name, "", 0.0);
  EXPECT_EQ(knowing(context_, session_, needs).kind, Advice::Kind::kProve);
  saw("look L1", "dark");  // a moment that does not fit changes nothing of what is known
  EXPECT_EQ(knowing(context_, session_, needs).kind, Advice::Kind::kLeave);
}

TEST_F(Rules, ACodeNamesThePartBehindItsPin) {
  open(gritter());
  saw("code SPN 520210 FMI 3", "active");
  const NamedItems named = items_named(session_);
  const std::vector<circuit::Part>& parts = session_.drawing().parts;
  const auto b12 = std::find_if(parts.begin(), parts.end(), [](const circuit::Part& p) { return p.name == "B12"; });
  ASSERT_NE(b12, parts.end());
  EXPECT_EQ(named.parts, std::set<circuit::PartId>{circuit::PartId(static_cast<std::size_t>(b12 - parts.begin()))});
  EXPECT_EQ(named.tellers.size(), 1U);
  saw("code SPN 520210 FMI 4", "absent");  // what a vehicle in order shows names nothing
  EXPECT_EQ(items_named(session_).parts, named.parts);
}

TEST_F(Rules, CodesFirstNeverMeasures) {
  open(gritter());
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const Score score = Player(context_, engine_, vehicle(seed), codes_first).play();
    EXPECT_EQ(score.tests, 0) << seed;
    EXPECT_TRUE(score.right || score.gave_up || score.repairs >= 1) << seed;
  }
}

// Every rule is given the same vehicle, and the program's numbers do not depend on the others having played.
TEST_F(Rules, EveryRulePlaysTheSameVehicle) {
  open(gritter());
  Quality quality;
  ASSERT_TRUE(play_all(context_, engine_, 3, quality).ok());
  const Score alone = Player(context_, engine_, vehicle(3)).play();
  for (const Played& played : quality.by_rule) EXPECT_EQ(played.vehicles, 1U);
  ASSERT_EQ(quality.kinds.count(alone.kind), 1U);
  EXPECT_DOUBLE_EQ(quality.by_rule[0].mean_minutes(), alone.minutes + (alone.right ? 0.0 : kUnmendedMinutes));
  EXPECT_DOUBLE_EQ(quality.starts.expected, alone.expected_minutes);
  EXPECT_GE(alone.expected_minutes, alone.bound_minutes);
}

TEST(Quality, AddsUp) {
  Score good;
  good.right = good.first_right = true;
  good.minutes = 10.0;
  good.paid_minutes = 30.0;
  good.expected_minutes = 24.0;
  good.bound_minutes = 20.0;
  Score bad;
  bad.gave_up = true;
  bad.wrong_parts = 2;
  bad.minutes = 5.0;
  bad.paid_minutes = 15.0;
  bad.expected_minutes = bad.bound_minutes = 40.0;
  bad.exact = true;
  Played played;
  played.add(good);
  played.add(bad);
  EXPECT_DOUBLE_EQ(played.share_mended(), 0.5);
  EXPECT_DOUBLE_EQ(played.wrong_per_vehicle(), 1.0);
  EXPECT_DOUBLE_EQ(played.mean_minutes(), (10.0 + 5.0 + kUnmendedMinutes) / 2.0);
  EXPECT_DOUBLE_EQ(played.mean_paid(), (30.0 + 15.0 + kUnmendedMinutes) / 2.0);
  played.add(good);
  EXPECT_DOUBLE_EQ(played.median_minutes(), 10.0);
  Starts starts;
  starts.add(good);
  starts.add(bad);
  EXPECT_EQ(starts.exact, 1U);
  EXPECT_NEAR(starts.gap, 0.2, 1e-12);
  EXPECT_DOUBLE_EQ(starts.took, 30.0 + 15.0 + kUnmendedMinutes);
}

TEST(Quality, NamesTheWeakestKindsFirst) {
  const auto kind = [](std::size_t vehicles, std::size_t mended, std::size_t wrong, double minutes) {
    Played played;
    played.vehicles = vehicles;
    played.mended = mended;
    played.wrong_parts = wrong;
    played.minutes.assign(vehicles, minutes);
    return played;
  };
  Quality quality;
  quality.kinds = {{"a", kind(10, 10, 0, 10.0)},
                   {"b", kind(10, 9, 0, 5.0)},
                   {"c", kind(10, 10, 5, 5.0)},
                   {"d", kind(10, 10, 0, 20.0)},
                   {"few", kind(2, 0, 0, 5.0)}};
  EXPECT_EQ(weakest_kinds(quality, 5, 3), (std::vector<std::string>{"c", "b", "d"}));
  EXPECT_EQ(weakest_kinds(quality, 1, 1), (std::vector<std::string>{"few"}));
}

}  // namespace
}  // namespace halfsplit::app
