// SPDX-License-Identifier: Apache-2.0
// A fault's range of severities is a dozen rows of belief, divided where a state moves. Against 240 severities on every
// demo loom: the likelihood of readings that the faults themselves can give, for tests of every kind. What is compared
// matters: it is at least a thousandth of what the best fault gives the same reading.
// HALFSPLIT_SEVERITY_FAULTS: so many faults of a loom (36).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>

#include "base/rng.h"
#include "candidates/generate.h"
#include "infer/likelihood_table.h"
#include "predict/severity_cuts.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using evidence::Kind;
using evidence::Observable;
using test::ExampleLoom;

constexpr std::size_t kFew = 12;
constexpr std::size_t kMany = 240;
constexpr int kReadings = 10;  // of each numeric test

// One fault at many severities, at every test.
struct Shown {
  std::vector<infer::Row> rows;
  evidence::ResponseTable table;
};

Shown predict_all(predict::Campaign& campaign, infer::FaultRate rate, const std::vector<Observable>& tests) {
  std::vector<infer::Row> rows = infer::make_rows(std::vector<infer::FaultRate>{std::move(rate)}, {0.0, 0.0});
  std::vector<predict::Case> cases;
  for (const infer::Row& row : rows) cases.push_back({{{row.first, row.first_quantile}}});
  return {std::move(rows), campaign.predict(cases, tests)};
}

double likelihood(const Shown& fault, std::size_t test, const infer::Reading& reading, const infer::Noise& noise) {
  const std::vector<double> logs = infer::compute_column(fault.rows, fault.table, test, reading, noise);
  double sum = 0.0;
  for (std::size_t r = 0; r < logs.size(); ++r) sum += std::exp(fault.rows[r].log_prior + logs[r]);
  return sum;
}

// Codes, gauges and looks at work; meters at random points, at work and parked.
class Tests {
 public:
  Tests(const ExampleLoom& e, base::Rng& rng) : e_(e), rng_(rng) {
    what_.configuration = candidates::at_work(e.loom);
    for (std::size_t i = 0; i < e.loom.codes.size(); ++i) add(Kind::kCode).code = circuit::CodeId(i);
    for (std::size_t i = 0; i < e.loom.lives.size(); ++i) add(Kind::kLive).live = circuit::LiveId(i);
    for (std::size_t i = 0; i < e.loom.parts.size(); ++i)
      if (e.loom.parts[i].kind == circuit::PartKind::kLamp) add(Kind::kLook).part = circuit::PartId(i);
    for (int i = 0; i < 12; ++i) probe(add(i % 6 == 0 ? Kind::kTestLamp : Kind::kVolts));
    for (int i = 0; i < 6; ++i) add(Kind::kClamp).wire = circuit::WireId(rng.below(e.loom.wires.size()));
    what_.configuration = {};
    for (int i = 0; i < 8; ++i) probe(add(i % 8 == 0 ? Kind::kContinuity : Kind::kOhms));
  }
  [[nodiscard]] const std::vector<Observable>& all() const { return all_; }

 private:
  Observable& add(Kind kind) {
    what_.kind = kind;
    all_.push_back(what_);
    return all_.back();
  }
  circuit::PointId point() { return circuit::PointId(rng_.below(e_.netlist.points.size())); }
  void probe(Observable& what) {
    what.red = point();
    what.black = rng_.chance(0.5) ? *circuit::find_point(e_.netlist, e_.loom.frames.front().name) : point();
  }

  const ExampleLoom& e_;
  base::Rng& rng_;
  Observable what_;
  std::vector<Observable> all_;
};

std::vector<evidence::Seen> readings_of(const Observable& what, std::size_t test, const std::vector<Shown>& faults,
                                        base::Rng& rng) {
  std::vector<evidence::Seen> all;
  for (std::size_t c = 0; c < evidence::categories(what.kind).size(); ++c)
    all.push_back({false, 0.0, static_cast<int>(c)});
  if (!all.empty()) return all;
  for (int i = 0; i < kReadings; ++i) {
    const Shown& fault = faults[rng.below(faults.size())];
    const evidence::Prediction& p = fault.table.at(rng.below(fault.rows.size()), test);
    if (p.components.empty()) continue;
    const evidence::Component& c = p.components[rng.below(p.components.size())];
    all.push_back({c.over_range, c.over_range ? 0.0 : c.mean + 0.5 * c.sigma * rng.normal(), -1});
  }
  return all;
}

// Fewer where each asks for pictures of buses.
std::vector<fault::FaultId> some_faults(const circuit::Loom& loom, const fault::Universe& universe) {
  const char* wanted = std::getenv("HALFSPLIT_SEVERITY_FAULTS");
  const std::size_t most = wanted != nullptr    ? static_cast<std::size_t>(std::atoi(wanted))
                           : loom.buses.empty() ? 36
                                                : 18;
  std::vector<fault::FaultId> all, some;
  for (std::size_t i = 0; i < universe.faults.size(); ++i)
    if (fault::has_range(universe.faults[i])) all.emplace_back(i);
  const std::size_t step = 1 + (all.size() - 1) / most;
  for (std::size_t i = 0; i < all.size(); i += step) some.push_back(all[i]);
  return some;
}

struct Tally {
  std::size_t compared = 0, off = 0;
  double worst = 1.0;    // factor
  std::size_t much = 0;  // above 3 % of the best fault's and off by more than 2.5
};

class Severities : public ::testing::TestWithParam<const char*> {};

TEST_P(Severities, ADozenStandForAll) {
  const ExampleLoom e = test::load_example(".", GetParam());
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  infer::Noise noise;
  noise.system_volts = e.loom.system_volts;
  base::Rng rng(1);
  const std::vector<fault::FaultId> faults = some_faults(e.loom, e.universe);
  Tally tally;
  const Tests tests(e, rng);
  std::vector<Shown> few, many;
  for (const fault::FaultId id : faults) {
    few.push_back(predict_all(campaign, {id, 1.0, kFew, predict::find_cuts(campaign, id, kFew)}, tests.all()));
    many.push_back(predict_all(campaign, {id, 1.0, kMany, {}}, tests.all()));
  }
  for (std::size_t test = 0; test < tests.all().size(); ++test) {
    const Observable& what = tests.all()[test];
    infer::Scale scale;
    if (what.kind == Kind::kLive) scale = {e.loom.lives[what.live.index()].low, e.loom.lives[what.live.index()].high};
    for (const evidence::Seen& seen : readings_of(what, test, many, rng)) {
      const infer::Reading reading{what.kind, seen, scale};
      std::vector<double> exact;
      for (const Shown& fault : many) exact.push_back(likelihood(fault, test, reading, noise));
      const double peak = *std::max_element(exact.begin(), exact.end());
      for (std::size_t f = 0; f < faults.size(); ++f) {
        if (exact[f] < 1e-3 * peak) continue;
        const double ratio = likelihood(few[f], test, reading, noise) / exact[f];
        const double factor = std::max(ratio, 1.0 / ratio);
        ++tally.compared;
        tally.off += factor > 1.5 ? 1U : 0U;
        tally.worst = std::max(tally.worst, factor);
        tally.much += exact[f] > 0.03 * peak && factor > 2.5 ? 1U : 0U;
      }
    }
  }
  std::cout << GetParam() << ": " << faults.size() << " faults, " << tally.compared << " likelihoods, " << tally.off
            << " off by more than 1.5; worst " << tally.worst << "; " << tally.much
            << " above 3 % of the best off by more than 2.5\n";
  EXPECT_GT(tally.compared, 200U * faults.size());
  EXPECT_LE(tally.off, 15 * tally.compared / 1000);  // 0.1 to 1.3 %, by loom and by the faults taken
  EXPECT_LE(tally.much, tally.compared / 2000);
}

TEST_P(Severities, AreCutWhereTheCircuitComesToStandOtherwise) {
  const ExampleLoom e = test::load_example(".", GetParam());
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  constexpr double kBeside = 2e-3;  // a little more than find_cuts leaves open
  std::size_t cuts = 0;
  for (std::size_t i = 0; i < e.universe.faults.size(); ++i) {
    if (!fault::has_range(e.universe.faults[i])) continue;
    const auto states = [&](double u) { return campaign.states_at_work({{{fault::FaultId(i), u}}}); };
    double before = 0.0;
    for (const double cut : predict::find_cuts(campaign, fault::FaultId(i), kFew)) {
      EXPECT_GT(cut, before) << e.universe.faults[i].name;
      EXPECT_NE(states(std::max(0.0, cut - kBeside)), states(std::min(1.0, cut + kBeside)))
          << e.universe.faults[i].name << " at " << cut;
      before = cut;
      ++cuts;
    }
  }
  EXPECT_GT(cuts, 0U);
}

INSTANTIATE_TEST_SUITE_P(EveryDemoLoom, Severities, ::testing::ValuesIn(test::kExamples, test::kExamples + 3));

}  // namespace
}  // namespace halfsplit
