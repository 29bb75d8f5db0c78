// SPDX-License-Identifier: Apache-2.0
// Troubleshooting problems whose answers are stated in public textbooks, put as tables: what each single open or short
// would show, worked out by Ohm's law here. Sources beside each test; facts only, in our own words.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "infer/groups.h"
#include "infer/posterior.h"
#include "infer/test_tables.h"

namespace halfsplit::diagnosis {
namespace {

using evidence::Kind;
using evidence::Prediction;
using infer::test::id;
using infer::test::number;
using infer::test::saw;
using infer::test::surely;

// A string of resistors across a supply; fault 2k is "R(k+1) open", fault 2k+1 is "R(k+1) shorted". 0.6 % per reading.
struct SeriesString {
  double supply;
  std::vector<double> ohm;

  [[nodiscard]] std::vector<double> volts(std::size_t fault) const {
    std::vector<double> now = ohm;
    if (fault < 2 * ohm.size()) now[fault / 2] = fault % 2 == 0 ? 1e12 : 1e-6;
    double total = 0.0;
    for (const double r : now) total += r;
    std::vector<double> out;
    for (const double r : now) out.push_back(supply * r / total);
    return out;
  }
  [[nodiscard]] infer::Posterior diagnose(const std::vector<double>& seen) const {
    std::vector<infer::FaultRate> faults;
    for (std::size_t f = 0; f < 2 * ohm.size(); ++f) faults.push_back({id(f), 1.0, 1});
    const std::vector<infer::Row> rows = infer::make_rows(faults, {});
    std::vector<std::vector<Prediction>> lines;
    for (std::size_t f = 0; f <= 2 * ohm.size(); ++f) {  // the last: nothing drawn is wrong
      lines.emplace_back();
      for (const double v : volts(f)) lines.back().push_back(number(v, 0.006 * v / 3.0));
    }
    std::vector<infer::Reading> readings;
    for (const double v : seen) readings.push_back(saw(Kind::kVolts, v));
    infer::Noise noise;
    noise.system_volts = supply;
    return infer::compute_posterior(rows, infer::test::table_of(lines), readings, noise);
  }
};

std::size_t leader(const infer::Posterior& posterior) {
  return posterior.suspects[infer::rank_suspects(posterior).front()].faults.first.index();
}
std::size_t open(std::size_t resistor) { return 2 * (resistor - 1); }
std::size_t shorted(std::size_t resistor) { return 2 * (resistor - 1) + 1; }

// Grob, Basic Electronics, 11th edition, example 4-6 (numbers only): 24 V across 150, 120, 180, 150 ohm; R3 open.
TEST(PublishedTroubleshooting, WholeSupplyAcrossThePartMeansItIsOpen) {
  const infer::Posterior posterior = SeriesString{24.0, {150, 120, 180, 150}}.diagnose({0.0, 0.0, 24.0, 0.0});
  EXPECT_EQ(leader(posterior), open(3));
  EXPECT_GT(posterior.fault[open(3)], 0.99);
}

// The same, example 4-7: R4 shorted. Also FAA-H-8083-30, page 10-87: in a live string the shorted part shows 0 V and
// the others share the supply.
TEST(PublishedTroubleshooting, NoDropInALiveStringMeansThatPartIsShorted) {
  const infer::Posterior posterior = SeriesString{24.0, {150, 120, 180, 150}}.diagnose({8.0, 6.4, 9.6, 0.0});
  EXPECT_EQ(leader(posterior), shorted(4));
  EXPECT_GT(posterior.fault[shorted(4)], 0.99);
}

// Lessons in Electric Circuits, volume I (Design Science License), 9 V across 100, 300, 50 ohm: stated answers R2
// shorted, R2 open.
TEST(PublishedTroubleshooting, ThreeResistorsAcrossNineVolts) {
  const SeriesString string{9.0, {100, 300, 50}};
  EXPECT_EQ(leader(string.diagnose({6.0, 0.0, 3.0})), shorted(2));
  EXPECT_EQ(leader(string.diagnose({0.0, 9.0, 0.0})), open(2));
}

// Grob, example 6-4 (numbers only): R1 120 ohm, then R2 100 ohm parallel to R3 (150 ohm), then R4 180 ohm at 36 V;
// seen 14.4, 0 and 21.6 V: R2 or R3 is shorted and the voltages cannot say which.
TEST(PublishedTroubleshooting, TwoShortsThatVoltagesCannotTellApartStayTogether) {
  const auto volts = [](double r2, double r3) {
    const double middle = r2 * r3 / (r2 + r3);
    const double amps = 36.0 / (120.0 + middle + 180.0);
    return std::vector<double>{120.0 * amps, middle * amps, 180.0 * amps};
  };
  const std::vector<std::vector<double>> shown = {volts(1e12, 150), volts(1e-6, 150), volts(100, 1e12),
                                                  volts(100, 1e-6), volts(100, 150)};
  EXPECT_NEAR(shown[4][0], 12.0, 1e-9);  // the healthy readings stated: 12, 6, 18 V
  EXPECT_NEAR(shown[2][0], 10.8, 1e-9);  // and with R3 open: 10.8, 9, 16.2 V
  std::vector<infer::FaultRate> faults;
  std::vector<std::vector<Prediction>> lines;
  for (std::size_t f = 0; f < 5; ++f) {
    if (f < 4) faults.push_back({id(f), 1.0, 1});
    lines.emplace_back();
    for (const double v : shown[f]) lines.back().push_back(number(v, 0.002 * v));
  }
  const std::vector<infer::Reading> readings = {saw(Kind::kVolts, 14.4), saw(Kind::kVolts, 0.0),
                                                saw(Kind::kVolts, 21.6)};
  const std::vector<infer::Row> rows = infer::make_rows(faults, {});
  const infer::Posterior posterior =
      infer::compute_posterior(rows, infer::test::table_of(lines), readings, infer::Noise{});
  EXPECT_NEAR(posterior.fault[1], posterior.fault[3], 1e-6);
  EXPECT_GT(posterior.fault[1] + posterior.fault[3], 0.99);
  // "Is there voltage across the parallel pair?" as the only test left: yes or no.
  std::vector<infer::Outcomes> outcomes;
  std::vector<double> probabilities;
  for (std::size_t s = 0; s < 4; ++s) {
    const bool live = shown[s][1] > 1.0;
    outcomes.push_back({{live ? 1.0 : 0.0, live ? 0.0 : 1.0}});
    probabilities.push_back(posterior.suspects[s].probability);
  }
  EXPECT_EQ(infer::group_alike(probabilities, outcomes).front().members, (std::vector<std::size_t>{1, 3}));
}

// Multimeters 101 (eCampusOntario Pressbooks): voltage across a switch means it is open; correct voltage across a load
// that does not work means the load failed; zero across a switch proves nothing.
// A lamp circuit, switch made: suspects 0 switch open, 1 lamp burnt out, 2 wire broken, 3 = switch and wire together.
struct LampCircuit {
  enum Test { kAcrossSwitch, kAcrossLamp };
  static Prediction shown(std::size_t suspect, Test test) {
    const Prediction live = number(24.0, 0.3), dead = number(0.0, 0.02);
    if (suspect == 4) return test == kAcrossLamp ? live : dead;  // healthy
    if (test == kAcrossSwitch) return suspect == 0 ? live : dead;
    return suspect == 1 ? live : dead;
  }
  static infer::Posterior diagnose(const std::vector<std::pair<Test, double>>& tests) {
    std::vector<infer::FaultRate> faults = {{id(0), 1.0, 1}, {id(1), 1.0, 1}, {id(2), 1.0, 1}};
    std::vector<infer::Row> rows = infer::make_rows(faults, {});
    rows.insert(rows.begin() + 3, infer::test::row_of({id(0), id(2)}, infer::PairPrior(faults, {}).log_prior(0, 2)));
    std::vector<std::vector<Prediction>> lines(5);
    std::vector<infer::Reading> readings = {infer::test::saw_word(Kind::kLook, 2)};  // the lamp is dead
    for (std::size_t s = 0; s < 5; ++s) lines[s].push_back(surely(s == 4 ? 0 : 2));
    for (const auto& [test, volts] : tests) {
      readings.push_back(saw(Kind::kVolts, volts));
      for (std::size_t s = 0; s < 5; ++s) lines[s].push_back(shown(s, test));
    }
    return infer::compute_posterior(rows, infer::test::table_of(lines), readings, infer::Noise{});
  }
};

TEST(PublishedTroubleshooting, VoltageAcrossASwitchMeansItIsOpen) {
  EXPECT_GT(LampCircuit::diagnose({{LampCircuit::kAcrossSwitch, 24.1}}).suspects[0].probability, 0.9);
}

TEST(PublishedTroubleshooting, VoltageAcrossADeadLoadMeansTheLoadFailed) {
  EXPECT_GT(LampCircuit::diagnose({{LampCircuit::kAcrossLamp, 23.9}}).suspects[1].probability, 0.9);
}

TEST(PublishedTroubleshooting, ZeroAcrossASwitchDoesNotClearIt) {
  const infer::Posterior before = LampCircuit::diagnose({});
  const infer::Posterior after = LampCircuit::diagnose({{LampCircuit::kAcrossSwitch, 0.0}});
  // Alone, the open switch would have shown 24 V; behind a broken wire it shows nothing.
  EXPECT_LT(after.suspects[0].probability, 0.01);
  EXPECT_GT(after.suspects[3].probability, before.suspects[3].probability);
  const auto share = [](const infer::Posterior& p) { return p.suspects[3].probability / p.suspects[2].probability; };
  EXPECT_NEAR(share(after), share(before), 1e-9);
}

}  // namespace
}  // namespace halfsplit::diagnosis
