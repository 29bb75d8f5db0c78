// SPDX-License-Identifier: Apache-2.0
// Acts, tests offered and refused, outcomes: on the demo looms.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "candidates/problem.h"
#include "circuit/metal_ways.h"
#include "evidence/observable_text.h"
#include "plan/decide.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using candidates::Act;
using candidates::Candidate;
using evidence::Kind;
using evidence::Observable;

class Candidates : public ::testing::Test {
 protected:
  explicit Candidates(const char* name = "gritter")
      : e_(test::load_example(".", name)), campaign_(e_.loom, e_.netlist, e_.universe) {
    roll_.resistors_ohm = {120.0, 1000.0, 4700.0};
  }

  candidates::GenerateInput input() {
    candidates::GenerateInput in{e_.loom,
                                 e_.netlist,
                                 e_.universe,
                                 roll_,
                                 candidates::at_work(e_.loom),
                                 std::vector<double>(e_.universe.faults.size(), 0.05),
                                 {},
                                 {},
                                 {},
                                 {}};
    in.healthy_volts = [this](const circuit::Configuration& c, circuit::PointId r, circuit::PointId b) {
      return campaign_.healthy_volts(c, r, b);
    };
    in.fitted_load = [this](const circuit::Configuration& c, const circuit::Fitted& fitted) {
      const predict::Campaign::Across across = campaign_.healthy_across(c, fitted);
      const double amperes = std::abs(across.volts) / (fitted.ohm + circuit::kLeadOhm);
      return candidates::FittedLoad{amperes, amperes * amperes * fitted.ohm, across.gone};
    };
    return in;
  }

  std::string refusal_to_fit(const std::string& a, const std::string& b, double ohm = 0.0,
                             const std::set<circuit::ConnectorId>& apart = {}) {
    circuit::Fitted fitted;
    fitted.kind = ohm > 0.0 ? circuit::Fitted::Kind::kStandIn : circuit::Fitted::Kind::kLead;
    fitted.a = e_.netlist.point_by_name.at(a);
    fitted.b = e_.netlist.point_by_name.at(b);
    fitted.ohm = ohm;
    circuit::Configuration state = candidates::at_work(e_.loom);
    state.unplugged = apart;
    return candidates::refusal_to_fit(input(), state, fitted);
  }

  Observable test_of(const std::string& words) {
    base::Result<Observable> what = evidence::parse_observable(e_.loom, e_.netlist, words);
    Observable placed = std::move(what).value();
    placed.configuration = candidates::at_work(e_.loom);
    return placed;
  }

  test::ExampleLoom e_;
  predict::Campaign campaign_;
  candidates::Roll roll_;
};

TEST_F(Candidates, OhmsAreOnlyOfferedWhereTheSupplyIsOff) {
  const candidates::GenerateInput in = input();
  std::size_t ohms = 0;
  for (const Candidate& c : candidates::generate(in)) {
    if (c.what.kind != Kind::kOhms) continue;
    ++ohms;
    const std::string words = evidence::format_observable(e_.loom, e_.netlist, c.what);
    EXPECT_LE(std::abs(campaign_.healthy_volts(c.what.configuration, c.what.red, c.what.black)), 0.05) << words;
    for (const circuit::PointId p : {c.what.red, c.what.black})
      EXPECT_LE(std::abs(campaign_.healthy_volts(c.what.configuration, p, {})), 0.05) << words;
  }
  EXPECT_GT(ohms, 10U);
}

// With two plugs apart only what lies between them is measured, and something does: in order it is never open.
TEST_F(Candidates, EndToEndLeadsAlongAConductorThatIsWhole) {
  std::size_t count = 0;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    if (c.what.kind != Kind::kOhms || c.what.configuration.unplugged.size() != 2) continue;
    ++count;
    const evidence::Prediction healthy = campaign_.predict_one({}, c.what);
    ASSERT_FALSE(healthy.components.empty());
    EXPECT_FALSE(healthy.components.front().over_range) << evidence::format_observable(e_.loom, e_.netlist, c.what);
  }
  EXPECT_GE(count, 2U);
}

// One wire is suspected.
TEST_F(Candidates, LeadsAreLaidAndPlugsTakenApartInPairsForWhatIsSuspectedOnly) {
  candidates::GenerateInput in = input();
  in.symptoms = {test_of("live oil-temperature")};
  const circuit::MetalWays ways(e_.netlist);
  circuit::ElementId suspected;
  for (std::size_t i = 0; i < e_.universe.faults.size(); ++i) {
    in.fault_weight[i] = e_.universe.faults[i].name == "oil-temp.3 open" ? 0.5 : 0.0;
    if (in.fault_weight[i] > 0.1) suspected = e_.universe.faults[i].element;
  }
  ASSERT_FALSE(suspected.is_none());
  std::size_t leads = 0, in_pairs = 0;
  for (const Candidate& c : candidates::generate(in)) {
    const auto& fitted = c.what.configuration.fitted;
    const bool lead = !fitted.empty() && fitted.begin()->kind == circuit::Fitted::Kind::kLead &&
                      c.what.configuration.unplugged.empty();
    const bool pair = c.what.configuration.unplugged.size() == 2;
    if (!lead && !pair) continue;
    ++(lead ? leads : in_pairs);
    const auto node = [&](circuit::PointId p) { return e_.netlist.points[p.index()].node; };
    const auto way = lead ? ways.between(node(fitted.begin()->a), node(fitted.begin()->b))
                          : ways.between(node(c.what.red), node(c.what.black), c.what.configuration.unplugged);
    ASSERT_TRUE(way.has_value());
    const bool there = std::find(way->begin(), way->end(), suspected) != way->end();
    EXPECT_TRUE(there) << evidence::format_observable(e_.loom, e_.netlist, c.what);
  }
  EXPECT_GE(leads, 1U);
  EXPECT_GE(in_pairs, 1U);
}

// Nothing lies between the two, and all of the battery as soon as it opens.
TEST_F(Candidates, OhmsAcrossAClosedSwitchOnTheSupplyAreRefused) {
  Observable what = test_of("ohms S1:1 S1:2");
  EXPECT_NEAR(campaign_.healthy_volts(what.configuration, what.red, what.black), 0.0, 0.01);
  EXPECT_FALSE(candidates::refusal(input(), what).empty()) << "key on";
  what.configuration.made.clear();
  EXPECT_FALSE(candidates::refusal(input(), what).empty()) << "key off: the battery stands at its first terminal";
  Observable behind = test_of("ohms S1:2 F4:1");
  EXPECT_FALSE(candidates::refusal(input(), behind).empty()) << "key on";
  behind.configuration.made.clear();
  EXPECT_EQ(candidates::refusal(input(), behind), "") << "key off: nothing behind the switch is fed";
}

// The drop from post to clamp, and along the wire alone; a bypass lead sits on the post.
TEST_F(Candidates, ALugIsMeasuredAgainstItsPostAndTheFarEndOfItsWire) {
  std::set<std::string> offered;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    if (c.what.kind == Kind::kVolts) offered.insert(evidence::format_observable(e_.loom, e_.netlist, c.what));
    for (const circuit::Fitted& f : c.what.configuration.fitted)
      for (const circuit::PointId p : {f.a, f.b})
        EXPECT_TRUE(p.is_none() || e_.netlist.points[p.index()].lug.is_none());
  }
  const auto either = [&](const std::string& a, const std::string& b) {
    return offered.contains("volts " + a + " " + b) || offered.contains("volts " + b + " " + a);
  };
  EXPECT_TRUE(either("BAT:+", "BAT:+@battery.1"));
  EXPECT_TRUE(either("BAT:+@battery.1", "S1:1@battery.1"));
  EXPECT_TRUE(either("BAT:+", "S1:1"));
}

TEST_F(Candidates, ATestLampIsNeverPutOnAModulesPin) {
  const candidates::GenerateInput in = input();
  EXPECT_FALSE(candidates::refusal(in, test_of("lamp HCU.A:7 chassis")).empty());
  EXPECT_TRUE(candidates::refusal(in, test_of("lamp HCU.A:1 chassis")).empty());
  for (const Candidate& c : candidates::generate(in))
    EXPECT_FALSE(c.what.kind == Kind::kTestLamp && e_.netlist.points[c.what.red.index()].module_pin);
}

// What may come and go inside a part or a module is warmed and cooled, if there is something along to do it with. Not
// what senses temperature: that answers in order as well.
TEST_F(Candidates, HeatAndColdForWhatMayComeAndGoInside) {
  roll_.cold_spray = true;
  const auto offered = [&](const std::string& words) {
    const candidates::GenerateInput in = input();
    const std::vector<Candidate> all = candidates::generate(in);
    return std::any_of(all.begin(), all.end(), [&](const Candidate& c) {
      return evidence::format_observable(e_.loom, e_.netlist, c.what) == words;
    });
  };
  EXPECT_TRUE(offered("heat HCU"));
  EXPECT_TRUE(offered("cool HCU"));
  EXPECT_TRUE(offered("heat S1"));
  EXPECT_FALSE(offered("heat B12"));
  EXPECT_FALSE(offered("heat F4")) << "nothing in a fuse comes and goes";
  EXPECT_TRUE(offered("wiggle oil-temp.2"));
  roll_.heat_gun = false;
  EXPECT_FALSE(offered("heat HCU"));
  EXPECT_TRUE(offered("cool HCU"));
  e_.loom.modules[0].hazard = circuit::Hazard::kAirbag;
  EXPECT_FALSE(offered("cool HCU"));
  EXPECT_FALSE(candidates::refusal(input(), test_of("heat HCU")).empty());
  e_.loom.modules[0].hazard = circuit::Hazard::kDangerousGoods;
  EXPECT_FALSE(candidates::refusal(input(), test_of("heat HCU")).empty());
  EXPECT_TRUE(candidates::refusal(input(), test_of("cool HCU")).empty());
}

// With its plug apart and nothing else asked of the state; whatever state the vehicle is in when it is entered.
TEST_F(Candidates, ACavityIsInspectedWithItsPlugApartAndALugAsItIs) {
  const candidates::GenerateInput in = input();
  const std::vector<Candidate> all = candidates::generate(in);
  const auto offered = [&](const std::string& words) {
    return std::find_if(all.begin(), all.end(), [&](const Candidate& c) {
      return evidence::format_observable(e_.loom, e_.netlist, c.what) == words;
    });
  };
  const auto cavity = offered("inspect J5:2@chassis");
  ASSERT_NE(cavity, all.end());
  EXPECT_EQ(cavity->what.configuration.unplugged.size(), 1U);
  EXPECT_TRUE(cavity->what.configuration.made.empty());
  const auto lug = offered("inspect BAT:+@battery.1");
  ASSERT_NE(lug, all.end());
  EXPECT_EQ(lug->what.configuration, circuit::Configuration{});
  Observable entered = test_of("inspect J5:2@chassis");
  candidates::place_in(e_.loom, e_.netlist, candidates::at_work(e_.loom), entered);
  EXPECT_EQ(entered, cavity->what);
}

// By the metre, behind what opens the place; never on airbag wires, refused on high voltage.
TEST_F(Candidates, ARunIsFollowedByEyeAsItIs) {
  const auto offered = [&](const std::string& words) -> std::optional<Candidate> {
    for (const Candidate& c : candidates::generate(input()))
      if (evidence::format_observable(e_.loom, e_.netlist, c.what) == words) return c;
    return std::nullopt;
  };
  const std::optional<Candidate> short_run = offered("inspect oil-temp.3");
  const std::optional<Candidate> long_run = offered("inspect oil-temp.2");
  ASSERT_TRUE(short_run && long_run);
  EXPECT_EQ(short_run->what.configuration, circuit::Configuration{});
  EXPECT_FALSE(short_run->needs.empty()) << "the hinge lies under the body";
  EXPECT_GE(long_run->minutes, 0.4 + 0.4 * 5.0);
  const circuit::WireId wire = short_run->what.wire;
  e_.loom.wires[wire.index()].hazard = circuit::Hazard::kAirbag;
  EXPECT_FALSE(offered("inspect oil-temp.3"));
  e_.loom.wires[wire.index()].hazard = circuit::Hazard::kHighVoltage;
  EXPECT_FALSE(offered("inspect oil-temp.3"));
  EXPECT_FALSE(candidates::refusal(input(), test_of("inspect oil-temp.3")).empty());
}

TEST_F(Candidates, NoAirbagPlugIsTakenApartToBeInspected) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kAirbag;
  const candidates::GenerateInput in = input();
  std::size_t inspected = 0;
  for (const Candidate& c : candidates::generate(in)) {
    if (c.what.kind != Kind::kInspect || c.what.red.is_none()) continue;
    ++inspected;
    EXPECT_NE(e_.netlist.points[c.what.red.index()].hazard, circuit::Hazard::kAirbag);
  }
  EXPECT_GT(inspected, 3U);
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kHighVoltage;
  EXPECT_FALSE(candidates::refusal(input(), test_of("inspect J5:2@body")).empty());
}

// Neither live nor dead, whatever the instrument; beside it the meter goes on.
TEST_F(Candidates, NoProbeIsSentToAnAirbagCircuit) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kAirbag;
  const auto airbag = [&](circuit::PointId p) {
    return !p.is_none() && e_.netlist.points[p.index()].hazard == circuit::Hazard::kAirbag;
  };
  std::size_t volts = 0;
  for (const Candidate& c : candidates::generate(input())) {
    EXPECT_FALSE(airbag(c.what.red) || airbag(c.what.black))
        << evidence::format_observable(e_.loom, e_.netlist, c.what);
    if (c.what.kind == Kind::kVolts) ++volts;
    if (c.what.kind != Kind::kClamp && (c.what.kind != Kind::kWiggle || c.what.wire.is_none())) continue;
    const circuit::Wire& wire = e_.loom.wires[c.what.wire.index()];
    for (const circuit::EndPoint& end : {wire.from, wire.to})
      EXPECT_FALSE(airbag(e_.netlist.point_by_name.at(circuit::end_point_name(e_.loom, end)))) << wire.name;
  }
  EXPECT_GT(volts, 20U);
  EXPECT_FALSE(candidates::why_not_proposed(input(), test_of("volts J5:2@body chassis")).empty());
  EXPECT_TRUE(candidates::refusal(input(), test_of("volts J5:2@body chassis")).empty()) << "taken by the maker's rules";
  EXPECT_TRUE(candidates::why_not_proposed(input(), test_of("volts J2:5@cab chassis")).empty());
}

TEST_F(Candidates, WhatShortsASupplyIsNotFitted) {
  EXPECT_FALSE(refusal_to_fit("BAT:+", "BAT:-").empty());
  EXPECT_FALSE(refusal_to_fit("BAT:+", "chassis").empty());
  EXPECT_NE(refusal_to_fit("BAT:+", "BAT:-", 1.0).find(" W"), std::string::npos);
  EXPECT_FALSE(refusal_to_fit("F4:2", "chassis").empty()) << "it blows F4";
  EXPECT_NE(refusal_to_fit("F4:2", "chassis").find("F4"), std::string::npos);
  // A supply or a wire by a lead, a sender by a resistor.
  EXPECT_EQ(refusal_to_fit("BAT:+", "F4:2"), "");
  EXPECT_EQ(refusal_to_fit("J2:5@cab", "J5:2@body"), "");
  EXPECT_EQ(refusal_to_fit("B12:1", "B12:2", 1000.0), "");
}

TEST_F(Candidates, NothingIsFittedThatCouldFeedAnAirbagCircuit) {
  const circuit::PointId sender = e_.netlist.point_by_name.at("B12:1");
  e_.loom.parts[e_.netlist.points[sender.index()].part.index()].hazard = circuit::Hazard::kAirbag;
  EXPECT_NE(refusal_to_fit("BAT:+", "J2:5@cab").find("airbag"), std::string::npos)
      << refusal_to_fit("BAT:+", "J2:5@cab");
  EXPECT_NE(refusal_to_fit("BAT:+", "F4:2").find("airbag"), std::string::npos)
      << "through the module, whatever it does";
  EXPECT_EQ(refusal_to_fit("BAT:+", "F4:2", 0.0, {e_.netlist.points[sender.index()].connector}), "");
}

// Of a live test, at what its place, its vehicle or itself says is dangerous goods.
TEST_F(Candidates, ALiveTestAtDangerousGoodsTakesTheZonesRelease) {
  const auto minutes_of = [&](const std::string& words) {
    for (const Candidate& c : candidates::generate(input()))
      if (evidence::format_observable(e_.loom, e_.netlist, c.what) == words) return c.minutes;
    ADD_FAILURE() << words << " is not offered";
    return 0.0;
  };
  const std::string live = "volts J2:5@cab J2:6@cab", dead = "ohms J2:5@cab J2:6@cab";
  const double live_before = minutes_of(live), dead_before = minutes_of(dead);
  e_.loom.hazard = circuit::Hazard::kDangerousGoods;
  EXPECT_DOUBLE_EQ(minutes_of(live), live_before + 5.0);
  EXPECT_DOUBLE_EQ(minutes_of(dead), dead_before);
  e_.loom.hazard = circuit::Hazard::kNone;
  const circuit::PlaceId place = e_.netlist.points[e_.netlist.point_by_name.at("J2:5@cab").index()].place;
  e_.loom.places[place.index()].hazard = circuit::Hazard::kDangerousGoods;
  EXPECT_DOUBLE_EQ(minutes_of(live), live_before + 5.0);
}

TEST_F(Candidates, AnAirbagCircuitNeverSeesAnOhmmeterNorALead) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kAirbag;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    const auto airbag = [&](circuit::PointId p) {
      return !p.is_none() && e_.netlist.points[p.index()].hazard == circuit::Hazard::kAirbag;
    };
    const bool drives = c.what.kind == Kind::kOhms || c.what.kind == Kind::kTestLamp;
    EXPECT_FALSE(drives && (airbag(c.what.red) || airbag(c.what.black)));
    for (const circuit::Fitted& f : c.what.configuration.fitted) EXPECT_FALSE(airbag(f.a) || airbag(f.b));
  }
}

TEST_F(Candidates, BrakeCircuitsAreNotBypassed) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kBrakes;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in))
    for (const circuit::Fitted& f : c.what.configuration.fitted)
      EXPECT_FALSE(f.kind == circuit::Fitted::Kind::kLead && c.what.configuration.unplugged.empty() &&
                   (e_.netlist.points[f.a.index()].hazard == circuit::Hazard::kBrakes ||
                    e_.netlist.points[f.b.index()].hazard == circuit::Hazard::kBrakes));
}

TEST_F(Candidates, WhatCannotBeReachedWithoutASetupNeedsIt) {
  const Candidate hinge = candidates::make_candidate(e_.loom, e_.netlist, test_of("volts J5:2@body J5:3@body"));
  const Candidate bulkhead = candidates::make_candidate(e_.loom, e_.netlist, test_of("volts J2:5@cab J2:6@cab"));
  const auto raises = [&](const Candidate& c) {
    return std::any_of(c.needs.begin(), c.needs.end(), [&](const Act& a) {
      return a.kind == Act::Kind::kSetup && e_.loom.setups[a.setup.index()].name == "body-raised";
    });
  };
  EXPECT_TRUE(raises(hinge));
  EXPECT_FALSE(raises(bulkhead));
  const candidates::GenerateInput in = input();
  EXPECT_GT(candidates::rough_minutes(in, hinge), candidates::rough_minutes(in, bulkhead) + 6.0);
}

TEST_F(Candidates, TheStandInIsTheNearestOfTheTechniciansRoll) {
  candidates::GenerateInput in = input();
  Observable live = test_of("live oil-temperature");
  live.configuration = {};
  in.symptoms = {live};
  bool offered = false;
  for (const Candidate& c : candidates::generate(in))
    for (const circuit::Fitted& f : c.what.configuration.fitted)
      if (f.kind == circuit::Fitted::Kind::kStandIn) {
        offered = true;
        EXPECT_EQ(f.ohm, 4700.0);  // the sensor has about 5 kohm at 8 degC
        EXPECT_FALSE(c.what.configuration.unplugged.empty());
      }
  EXPECT_TRUE(offered);
}

TEST_F(Candidates, OutcomesOfATestAddUpToOneUnderEverySuspect) {
  const candidates::GenerateInput in = input();
  const std::vector<Candidate> all = candidates::generate(in);
  std::vector<candidates::SuspectRows> suspects;
  std::vector<predict::Case> cases;
  for (const char* name : {"B12 open", "J5:2 high", "J2:5 comes and goes"}) {
    candidates::SuspectRows s;
    s.name = name;
    s.probability = 0.3;
    s.repairs = {e_.universe.faults[e_.universe.find(name).index()].repair};
    s.rows = {{cases.size(), 1.0}};
    suspects.push_back(s);
    cases.push_back({{{e_.universe.find(name), 0.5}}});
  }
  candidates::SuspectRows beyond;
  beyond.name = "not on this drawing";
  beyond.probability = 0.1;
  suspects.push_back(beyond);
  cases.emplace_back();
  infer::Noise noise;
  for (std::size_t i = 0; i < all.size(); i += 7) {
    const evidence::ResponseTable table = campaign_.predict(cases, {all[i].what});
    const candidates::Test t = candidates::make_test(e_.loom, all[i], i, table, 0, suspects, cases.size() - 1, noise);
    for (std::size_t s = 0; s < suspects.size(); ++s) {
      double sum = 0.0;
      for (std::size_t o = 0; o < t.outcomes.size(); ++o) sum += t.chance[s * t.outcomes.size() + o];
      EXPECT_NEAR(sum, 1.0, 1e-9);
    }
    EXPECT_GE(t.bits, -1e-9);
  }
}

// Many ways to part A from the others, none alike to the last digit, and one dearer test that parts B from C.
TEST_F(Candidates, ATestThatPartsWhatNoOtherPartsIsKept) {
  std::vector<candidates::SuspectRows> suspects;
  for (std::size_t r = 0; r < 3; ++r) {
    candidates::SuspectRows s;
    s.probability = r == 0 ? 0.6 : 0.2;
    s.repairs = {fault::RepairId(r)};
    suspects.push_back(s);
  }
  const auto test = [](std::size_t index, double minutes, double bits, const std::vector<double>& first) {
    candidates::Test t;
    t.candidate = index;
    t.outcomes.resize(2);
    for (const double p : first) t.chance.insert(t.chance.end(), {p, 1.0 - p});
    t.rough_minutes = minutes;
    t.bits = bits;
    return t;
  };
  std::vector<candidates::Test> tests;
  for (std::size_t i = 0; i < 30; ++i)
    tests.push_back(test(i, 1.0, 0.9, {0.98, 0.02 + 0.004 * static_cast<double>(i), 0.02}));
  tests.push_back(test(30, 9.0, 0.35, {0.5, 0.98, 0.02}));
  const std::vector<candidates::Test> chosen = candidates::choose_tests(tests, suspects, 4);
  ASSERT_EQ(chosen.size(), 4U);
  EXPECT_TRUE(std::any_of(chosen.begin(), chosen.end(), [](const candidates::Test& t) { return t.candidate == 30; }));
}

// Two suspects that stay as they are, their figures a tolerance apart, and one that comes and goes.
TEST_F(Candidates, ASecondLookTellsWhatComesAndGoesAndNothingElse) {
  const auto component = [](double weight, double volts) {
    return evidence::Component{weight, false, volts, 0.1, {}, 0};
  };
  const auto suspect = [](std::size_t row, std::size_t repair, double probability) {
    candidates::SuspectRows s;
    s.probability = probability;
    s.repairs = {fault::RepairId(repair)};
    s.rows = {{row, 1.0}};
    return s;
  };
  evidence::ResponseTable table(4, 1);
  table.at(0, 0).components = {component(1.0, 5.0)};
  table.at(1, 0).components = {component(1.0, 5.6)};
  table.at(2, 0).components = {component(0.5, 5.1), component(0.5, 0.0)};
  table.at(2, 0).components[0].moment = 1;
  table.at(2, 0).components[1].moment = 2;
  table.at(3, 0).components = {component(1.0, 5.0)};
  infer::Noise noise;
  noise.mis_probe = 0.0;
  Candidate once = candidates::make_candidate(e_.loom, e_.netlist, test_of("volts J2:5@chassis chassis"));
  Candidate again = once;
  again.before = evidence::Seen{false, 5.3, -1};
  const auto bits = [&](const Candidate& c, const std::vector<candidates::SuspectRows>& suspects) {
    infer::Reading reading{c.what.kind, {}, {}};
    if (c.before) reading.before = {{*c.before, {}}};
    return candidates::make_test(e_.loom, c, 0, table, 0, suspects, 3, noise, reading).bits;
  };
  const std::vector<candidates::SuspectRows> steady{suspect(0, 0, 0.5), suspect(1, 1, 0.5)};
  EXPECT_GT(bits(once, steady), 0.05);
  EXPECT_LT(bits(again, steady), 1e-6);
  const std::vector<candidates::SuspectRows> loose{suspect(0, 0, 0.5), suspect(2, 2, 0.5)};
  EXPECT_GT(bits(again, loose), 0.2);
  again.before = evidence::Seen{false, 9.0, -1};  // a slip, whoever it was
  EXPECT_GT(bits(again, steady), 0.05);
}

TEST_F(Candidates, WhatIsWorthASecondLookIsOfferedOnceMoreWithItsReading) {
  candidates::GenerateInput in = input();
  const Observable what = test_of("volts J2:5@chassis chassis");
  const auto offered = [&] {
    std::vector<Candidate> all = candidates::generate(in);
    std::erase_if(all, [&](const Candidate& c) { return !(c.what == what); });
    return all;
  };
  ASSERT_EQ(offered().size(), 1U);
  EXPECT_FALSE(offered()[0].before.has_value());
  in.already = {what};
  EXPECT_TRUE(offered().empty());
  in.again = {{what, {false, 5.1, -1}}};
  ASSERT_EQ(offered().size(), 1U);
  EXPECT_EQ(offered()[0].before.value().value, 5.1);
}

// Who may be mended can end by leaving alone, and pays the second visit only where that is wrong.
TEST_F(Candidates, LeavingIsPaidByWhoIsNotMended) {
  candidates::SuspectRows mended;
  mended.name = "mended";
  mended.probability = 0.75;
  mended.mended = true;
  candidates::SuspectRows loose;
  loose.name = "J2:5 comes and goes";
  loose.probability = 0.25;
  loose.repairs = {e_.universe.faults[e_.universe.find(loose.name).index()].repair};
  const candidates::GenerateInput in = input();
  const std::vector<Candidate> none;
  const std::vector<candidates::Test> no_tests;
  const std::vector<candidates::SuspectRows> suspects{mended, loose};
  const auto build = [&](double minutes) {
    return candidates::build_problem({in, none, no_tests, suspects, 90.0, 0.0, minutes});
  };
  const candidates::BuiltProblem cheap = build(1.0);
  ASSERT_NE(cheap.leave, candidates::kNoLeaving);
  EXPECT_TRUE(cheap.repairs[cheap.leave].empty());
  EXPECT_EQ(cheap.problem.repairs[cheap.leave].mends, std::vector<plan::FaultId>{plan::FaultId(0)});
  EXPECT_NEAR(cheap.shift_minutes, 0.75, 1e-12);
  const auto first = [](const candidates::BuiltProblem& built) { return plan::decide(built.problem).action; };
  EXPECT_EQ(first(cheap).index, cheap.leave);
  const candidates::BuiltProblem dear = build(1000.0);
  EXPECT_NE(first(dear).index, dear.leave) << "the contact is remade first, to be sure";
  const double cost = plan::decide(dear.problem).expected_minutes - dear.shift_minutes;
  EXPECT_LT(cost, 60.0) << "once it has been remade, leaving is right and the visit is not paid";
}

TEST_F(Candidates, DoingAndUndoingAnActLeavesTheStateAsItWas) {
  circuit::Configuration state = candidates::at_work(e_.loom);
  const circuit::Configuration before = state;
  for (const Act& act : candidates::loom_acts(e_.loom)) {
    if (candidates::is_done(state, act)) continue;
    candidates::apply(state, act, true);
    EXPECT_TRUE(candidates::is_done(state, act));
    candidates::apply(state, act, false);
    EXPECT_EQ(state, before);
  }
}

// What a typed test says is read back as the same test.
TEST_F(Candidates, WordsOfATestReadBackAsTheSameTest) {
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    const std::string words = evidence::format_observable(e_.loom, e_.netlist, c.what);
    base::Result<Observable> again = evidence::parse_observable(e_.loom, e_.netlist, words);
    ASSERT_TRUE(again.ok()) << words;
    again->configuration = c.what.configuration;
    EXPECT_EQ(*again, c.what) << words;
  }
}

}  // namespace
}  // namespace halfsplit
