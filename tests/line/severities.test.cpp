// SPDX-License-Identifier: Apache-2.0
// A fault's range of severities is a few rows of belief. Against 400 severities on every demo loom: the likelihood of
// readings that the fault itself can give, over all faults with a range and all kinds of observables.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
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

struct Column {
  std::vector<infer::Row> rows;
  evidence::ResponseTable table{0, 1};
};

Column predict_column(predict::Campaign& campaign, fault::FaultId id, std::size_t severities, bool cut,
                      const Observable& what) {
  Column column;
  infer::PriorShares none{0.0, 0.0};
  std::vector<infer::FaultRate> rates{{id, 1.0, severities, {}}};
  if (cut) rates.front().cuts = predict::find_cuts(campaign, id, severities);
  column.rows = infer::make_rows(rates, none);
  std::vector<predict::Case> cases;
  for (const infer::Row& row : column.rows) cases.push_back({{{row.first, row.first_quantile}}});
  column.table = campaign.predict(cases, {what});
  return column;
}

double likelihood(const Column& column, const infer::Reading& reading, const infer::Noise& noise) {
  const std::vector<double> logs = infer::compute_column(column.rows, column.table, 0, reading, noise);
  double sum = 0.0;
  for (std::size_t r = 0; r < logs.size(); ++r) sum += std::exp(column.rows[r].log_prior + logs[r]);
  return sum;
}

std::vector<Observable> observables_of(const ExampleLoom& e, base::Rng& rng) {
  std::vector<Observable> all;
  Observable what;
  what.configuration = candidates::at_work(e.loom);
  const auto add = [&](Kind kind) {
    what.kind = kind;
    all.push_back(what);
  };
  for (std::size_t i = 0; i < e.loom.codes.size(); ++i) {
    what.code = circuit::CodeId(i);
    add(Kind::kCode);
  }
  what.code = {};
  for (std::size_t i = 0; i < e.loom.lives.size(); ++i) {
    what.live = circuit::LiveId(i);
    add(Kind::kLive);
  }
  what.live = {};
  for (std::size_t i = 0; i < e.loom.parts.size(); ++i) {
    const circuit::PartKind kind = e.loom.parts[i].kind;
    if (kind != circuit::PartKind::kLamp && kind != circuit::PartKind::kMotor && kind != circuit::PartKind::kSolenoid)
      continue;
    what.part = circuit::PartId(i);
    add(Kind::kLook);
  }
  what.part = {};
  const auto some_point = [&] { return circuit::PointId(rng.below(e.netlist.points.size())); };
  circuit::PointId ground;
  for (std::size_t i = 0; i < e.netlist.points.size(); ++i)
    if (e.netlist.points[i].name == e.loom.frames.front().name) ground = circuit::PointId(i);
  for (int i = 0; i < 12; ++i) {
    what.red = some_point();
    what.black = rng.chance(0.6) ? ground : some_point();
    add(i % 6 == 0 ? Kind::kTestLamp : Kind::kVolts);
  }
  what.red = what.black = {};
  for (int i = 0; i < 6; ++i) {
    what.wire = circuit::WireId(rng.below(e.loom.wires.size()));
    add(Kind::kClamp);
  }
  what.wire = {};
  what.configuration = {};
  for (int i = 0; i < 8; ++i) {
    what.red = some_point();
    what.black = rng.chance(0.4) ? ground : some_point();
    add(i % 8 == 0 ? Kind::kContinuity : Kind::kOhms);
  }
  return all;
}

class Severities : public ::testing::TestWithParam<const char*> {};

TEST_P(Severities, AFewStandForAll) {
  const ExampleLoom e = test::load_example(".", GetParam());
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  infer::Noise noise;
  noise.system_volts = e.loom.system_volts;
  base::Rng rng(1);
  std::vector<fault::FaultId> faults;
  for (std::size_t i = 0; i < e.universe.faults.size(); ++i)
    if (fault::has_range(e.universe.faults[i])) faults.emplace_back(i);
  const std::size_t step = 1 + faults.size() / 40;
  for (std::size_t i = 0; i * step < faults.size(); ++i) faults[i] = faults[i * step];
  faults.resize((faults.size() + step - 1) / step);
  std::size_t compared = 0, off = 0, far = 0;
  std::vector<std::pair<double, std::string>> worst;
  std::map<Kind, std::pair<std::size_t, std::size_t>> by_kind;
  for (const Observable& what : observables_of(e, rng)) {
    std::vector<Column> few, many;
    for (const fault::FaultId id : faults) {
      few.push_back(predict_column(campaign, id, kFew, true, what));
      many.push_back(predict_column(campaign, id, kMany, false, what));
    }
    infer::Scale scale;
    if (what.kind == Kind::kLive) scale = {e.loom.lives[what.live.index()].low, e.loom.lives[what.live.index()].high};
    std::vector<evidence::Seen> seen;
    if (!evidence::is_numeric(what.kind)) {
      for (std::size_t c = 0; c < evidence::categories(what.kind).size(); ++c)
        seen.push_back({false, 0.0, static_cast<int>(c)});
    } else {
      for (int i = 0; i < 20; ++i) {
        const evidence::Prediction& p = many[rng.below(faults.size())].table.at(rng.below(kMany), 0);
        if (p.components.empty()) continue;
        const evidence::Component& c = p.components[rng.below(p.components.size())];
        seen.push_back({c.over_range, c.over_range ? 0.0 : c.mean + 0.5 * c.sigma * rng.normal(), -1});
      }
    }
    for (const evidence::Seen& s : seen) {
      const infer::Reading reading{what.kind, s, scale};
      std::vector<double> l_few, l_many;
      for (std::size_t f = 0; f < faults.size(); ++f) {
        l_few.push_back(likelihood(few[f], reading, noise));
        l_many.push_back(likelihood(many[f], reading, noise));
      }
      const double peak = *std::max_element(l_many.begin(), l_many.end());
      for (std::size_t f = 0; f < faults.size(); ++f) {
        if (l_many[f] < 1e-3 * peak) continue;
        ++compared;
        ++by_kind[what.kind].first;
        const double ratio = l_few[f] / l_many[f];
        const double apart = std::max(ratio, 1.0 / ratio);
        off += apart > 1.2 ? 1U : 0U;
        if (apart <= 1.5) continue;
        ++far;
        ++by_kind[what.kind].second;
        worst.emplace_back(apart, e.universe.faults[faults[f].index()].name + " " +
                                      std::string(evidence::kind_word(what.kind)) + " " +
                                      (what.red.is_none() ? ""
                                                          : e.netlist.points[what.red.index()].name + " " +
                                                                e.netlist.points[what.black.index()].name) +
                                      " seen " +
                                      (s.over_range      ? "OL"
                                       : s.category >= 0 ? std::to_string(s.category)
                                                         : std::to_string(s.value)) +
                                      " few " + std::to_string(l_few[f]) + " many " + std::to_string(l_many[f]) +
                                      " peak " + std::to_string(peak));
      }
    }
  }
  std::sort(worst.rbegin(), worst.rend());
  std::cout << GetParam() << ": " << faults.size() << " faults, " << compared << " likelihoods, " << off
            << " off by more than 1.2, " << far << " by more than 1.5\n";
  for (const auto& [kind, n] : by_kind)
    std::cout << "  " << evidence::kind_word(kind) << " " << n.second << " of " << n.first << "\n";
  for (std::size_t i = 0; i < worst.size() && i < 400; i += 1 + i / 4)
    std::cout << "  " << worst[i].first << " " << worst[i].second << "\n";
}

INSTANTIATE_TEST_SUITE_P(EveryDemoLoom, Severities, ::testing::ValuesIn(test::kExamples));

}  // namespace
}  // namespace halfsplit
