// SPDX-License-Identifier: Apache-2.0
// Buses of whole vehicles: what the fast path says of every bus under every single fault is what a fresh factorisation
// says; what is read off from that.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "candidates/generate.h"
#include "electrical/fault_bench.h"
#include "electrical/model.h"
#include "predict/bus.h"
#include "predict/bus_steady.h"
#include "predict/campaign.h"
#include "tests/support/bus_vehicle.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using circuit::BusId;
using circuit::ModuleId;
using test::ExampleLoom;

predict::SlowView slow_view(const ExampleLoom& e, const circuit::Configuration& state,
                            const std::vector<fault::Change>& changes) {
  electrical::Model model = electrical::make_model(e.loom, e.netlist, state);
  electrical::apply_changes(model, changes);
  return {std::move(model), e.loom.system_volts, changes};
}

double worst(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.size() != b.size()) return 1.0e9;
  double most = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i)
    most = std::max(most, std::abs(a[i] - b[i]) / std::max(1.0e-3, std::abs(b[i])));
  return most;
}

class Buses : public ::testing::TestWithParam<const char*> {
 protected:
  ModuleId module(const std::string& name) const {
    for (std::size_t m = 0; m < e_.loom.modules.size(); ++m)
      if (e_.loom.modules[m].name == name) return ModuleId(m);
    ADD_FAILURE() << "no module " << name;
    return {};
  }
  fault::FaultId fault(const std::string& name) const {
    const fault::FaultId id = e_.universe.find(name);
    EXPECT_FALSE(id.is_none()) << name;
    return id;
  }

  ExampleLoom e_ = test::load_example(".", GetParam());
  predict::Campaign campaign_{e_.loom, e_.netlist, e_.universe};
  circuit::Configuration work_ = candidates::at_work(e_.loom);
};

struct Kept {
  std::size_t looked_at = 0, kept = 0, bounds = 0;
};

void expect_within(const electrical::MostMoved& most, const electrical::Transfers& now,
                   const electrical::Transfers& rest, const std::string& where) {
  for (std::size_t i = 0; i < now.open.size(); ++i)
    EXPECT_LE(std::abs(now.open[i] - rest.open[i]), most.volts * 1.000001 + 1.0e-8) << where;
  for (std::size_t i = 0; i < now.ohm.size(); ++i)
    EXPECT_LE(std::abs(now.ohm[i] - rest.ohm[i]), most.ohm * 1.000001 + 1.0e-7) << where;
}

// No level has moved by more than the circuit's move may come to.
void expect_levels_within(const predict::Steadiness& steady, const electrical::MostMoved& most,
                          const predict::BusLevels& now, const predict::BusLevels& rest, const std::string& where) {
  const double bound = steady.per_volt * most.volts + steady.per_ohm * most.ohm + 1.0e-7;
  for (const auto& levels : {&predict::BusLevels::rest_high, &predict::BusLevels::rest_low,
                             &predict::BusLevels::driven_high, &predict::BusLevels::driven_low})
    for (std::size_t i = 0; i < (now.*levels).size(); ++i)
      EXPECT_LE(std::abs((now.*levels)[i] - (rest.*levels)[i]), bound) << where;
}

// What may be lost before anybody reads otherwise is not more than the circuit at rest has.
void expect_no_more_than_at_rest(const predict::BusesAtRest& rest) {
  for (const predict::BusesAtRest::One& bus : rest.buses) {
    if (!bus.steadiness) continue;
    const std::vector<double>& margin = bus.picture->margin;
    EXPECT_LT(bus.steadiness->margin_v, *std::min_element(margin.begin(), margin.end()));
  }
}

// Under every fault: a bus that is said to stay as it is carries the same messages when it is drawn anew, and its lines
// have moved by no more than was said.
Kept compare_kept(const ExampleLoom& e) {
  const circuit::Configuration work = candidates::at_work(e.loom);
  const predict::Scene scene{e.loom, e.netlist, e.universe, meters::default_meter()};
  electrical::FaultBench bench(electrical::make_model(e.loom, e.netlist, work), e.loom.system_volts);
  predict::BusMemo memo;
  std::vector<electrical::Transfers> at_rest;
  {
    predict::FastView rest(bench, {}, {}, &memo);
    memo.rest = predict::look_at_rest(scene, rest);
    expect_no_more_than_at_rest(*memo.rest);
    for (const predict::BusesAtRest::One& bus : memo.rest->buses)
      at_rest.push_back(bus.steadiness ? rest.transfers(bus.steadiness->ends, bus.steadiness->ends)
                                       : electrical::Transfers{});
  }
  Kept kept;
  for (const fault::Fault& fault : e.universe.faults)
    for (const double quantile : {0.0, 0.5, 1.0}) {
      const std::vector<fault::Change> changes =
          fault::changes_of(e.netlist, fault, fault::severity_at(fault, quantile));
      predict::FastView fast(bench, changes, {}, &memo);
      if (!fast.settled()) continue;
      predict::CircuitView& view = fast;
      for (std::size_t b = 0; b < e.loom.buses.size(); ++b) {
        const std::string where = fault.name + " on " + e.loom.buses[b].name;
        ++kept.looked_at;
        const predict::BusesAtRest::One& rest = memo.rest->buses[b];
        const auto& steady = rest.steadiness;
        const electrical::MostMoved most =
            steady ? bench.most_moved(steady->ends) : electrical::MostMoved{0.0, 0.0, true};
        if (!most.apart) {
          ++kept.bounds;
          expect_within(most, fast.transfers(steady->ends, steady->ends), at_rest[b], where);
          const circuit::BusReading& reading = circuit::bus_kind(e.loom.buses[b].kind).readings.front();
          if (most.ohm <= steady->most_ohm)
            expect_levels_within(*steady, most, predict::bus_levels(scene, view, BusId(b), reading),
                                 rest.picture->levels, where);
        }
        const std::shared_ptr<const predict::BusPicture> as_it_was = view.picture_at_rest(BusId(b));
        if (as_it_was == nullptr) continue;
        ++kept.kept;
        const std::shared_ptr<const predict::BusPicture> anew = predict::bus_picture(scene, view, BusId(b));
        EXPECT_EQ(as_it_was->arrives, anew->arrives) << where;
        EXPECT_EQ(as_it_was->arrives_with_reader, anew->arrives_with_reader) << where;
      }
    }
  return kept;
}

TEST_P(Buses, WhatAFaultLeavesAsItIsIsDrawnTheSameAnew) {
  const Kept kept = compare_kept(e_);
  EXPECT_GT(kept.kept, 100U);
  EXPECT_GT(kept.bounds, kept.looked_at / 2);
}

TEST(BusesOfManySegments, MostOfThemStayAsTheyAre) {
  base::Result<circuit::Loom> loom = formats::read_loom(
      "buses.loom.toml", [](const std::string&) { return base::Result<std::string>(test::make_bus_vehicle(3, 8)); });
  ExampleLoom e;
  e.loom = std::move(loom).value();
  e.netlist = circuit::build_netlist(e.loom);
  e.universe = fault::make_universe(e.loom, e.netlist);
  const Kept kept = compare_kept(e);
  EXPECT_GT(kept.kept, kept.looked_at / 2);
}

// Where a line can be let go of, what it rests through stands behind the lines' ends.
TEST(BusesReadInSeveralWays, WhatAFaultLeavesAsItIsIsDrawnTheSameAnew) {
  for (const char* name : {"fault-tolerant", "trailer-link"}) {
    SCOPED_TRACE(name);
    ExampleLoom e;
    e.loom = formats::read_loom(std::string("./tests/page/looms/") + name + ".loom.toml", test::read_file).value();
    e.netlist = circuit::build_netlist(e.loom);
    e.universe = fault::make_universe(e.loom, e.netlist);
    const Kept kept = compare_kept(e);
    EXPECT_GT(kept.kept, 20U);
    EXPECT_GT(kept.bounds, 20U);
  }
}

TEST_P(Buses, FastAndSlowSayTheSameUnderEveryFault) {
  std::size_t compared = 0;
  for (std::size_t f = 0; f < e_.universe.faults.size(); ++f) {
    const bool of_bus = !e_.universe.faults[f].bus.is_none();
    if (!of_bus && f % 5 != 0) continue;
    const predict::Case which{{{fault::FaultId(f), 0.5}}};
    const std::vector<fault::Change> changes = campaign_.changes_of(which);
    predict::SlowView slow = slow_view(e_, work_, changes);
    campaign_.with_view(which, work_, [&](predict::CircuitView& fast) {
      ASSERT_EQ(fast.settled(), slow.settled());
      if (!fast.settled()) return;
      for (std::size_t b = 0; b < e_.loom.buses.size(); ++b) {
        const predict::BusPicture x = *predict::bus_picture(campaign_.scene(), fast, BusId(b));
        const predict::BusPicture y = *predict::bus_picture(campaign_.scene(), slow, BusId(b));
        const std::string where = e_.universe.faults[f].name + " on " + e_.loom.buses[b].name;
        EXPECT_LT(worst(x.levels.rest_high, y.levels.rest_high), 1.0e-6) << where;
        EXPECT_LT(worst(x.levels.driven_high, y.levels.driven_high), 1.0e-6) << where;
        EXPECT_LT(worst(x.levels.driven_low, y.levels.driven_low), 1.0e-6) << where;
        EXPECT_LT(worst(x.levels.tau_s, y.levels.tau_s), 1.0e-3) << where;
        EXPECT_LT(worst(x.arrives, y.arrives), 1.0e-9) << where;
        ++compared;
      }
    });
  }
  EXPECT_GT(compared, 100U);
}

TEST_P(Buses, HealthyAllHearAll) {
  campaign_.with_view({}, work_, [&](predict::CircuitView& view) {
    for (std::size_t b = 0; b < e_.loom.buses.size(); ++b) {
      const predict::BusPicture picture = *predict::bus_picture(campaign_.scene(), view, BusId(b));
      ASSERT_GT(picture.seats, 2U);
      for (std::size_t s = 0; s < picture.seats; ++s)
        for (std::size_t r = 0; r < picture.seats; ++r)
          if (s != r) {
            EXPECT_NEAR(picture.arrives[s * picture.seats + r], 1.0, 1e-4);
          }
    }
    for (std::size_t m = 0; m < e_.loom.modules.size(); ++m)
      EXPECT_NEAR(predict::reader_reaches(campaign_.scene(), view, ModuleId(m)), 1.0, 1e-3) << e_.loom.modules[m].name;
  });
}

INSTANTIATE_TEST_SUITE_P(Examples, Buses, ::testing::Values("refuse-truck", "road-sweeper"));

class RefuseTruck : public Buses {};

TEST_P(RefuseTruck, MessagesOfTheBodyComeThroughTheGateway) {
  const ModuleId gateway = module("GWM");
  const ModuleId body = module("BC2");
  const ModuleId display = module("DSP");
  campaign_.with_view({}, work_, [&](predict::CircuitView& view) {
    EXPECT_NEAR(predict::arrival(campaign_.scene(), view, body, display), 1.0, 1e-3);
    EXPECT_NEAR(predict::arrival(campaign_.scene(), view, body, gateway), 1.0, 1e-3);
  });
  const predict::Case stuck{{{fault("GWM passes nothing on"), 0.5}}};
  campaign_.with_view(stuck, work_, [&](predict::CircuitView& view) {
    EXPECT_EQ(predict::arrival(campaign_.scene(), view, body, display), 0.0);
    EXPECT_NEAR(predict::arrival(campaign_.scene(), view, body, gateway), 1.0, 1e-3);
    EXPECT_EQ(predict::reader_reaches(campaign_.scene(), view, body), 0.0);
    EXPECT_NEAR(predict::reader_reaches(campaign_.scene(), view, gateway), 1.0, 1e-3);
  });
}

TEST_P(RefuseTruck, OneWireOpenLeavesTwoHalvesThatWork) {
  const predict::Case open{{{fault("J8:2 open"), 0.5}}};
  campaign_.with_view(open, work_, [&](predict::CircuitView& view) {
    const predict::Scene& scene = campaign_.scene();
    EXPECT_LT(predict::arrival(scene, view, module("GWM"), module("BC2")), 0.01);
    EXPECT_LT(predict::arrival(scene, view, module("BC2"), module("GWM")), 0.01);
    EXPECT_GT(predict::arrival(scene, view, module("GWM"), module("BC1")), 0.99);
    EXPECT_GT(predict::arrival(scene, view, module("LFT"), module("BC2")), 0.99);
  });
}

TEST_P(RefuseTruck, ABabblerTakesTheBusAndAMuteModuleOnlyItself) {
  const predict::Scene& scene = campaign_.scene();
  campaign_.with_view({{{fault("BC1 body babbles"), 0.5}}}, work_, [&](predict::CircuitView& view) {
    EXPECT_EQ(predict::arrival(scene, view, module("LFT"), module("BC2")), 0.0);
    EXPECT_GT(predict::arrival(scene, view, module("CCU"), module("DSP")), 0.99);  // the other bus
  });
  campaign_.with_view({{{fault("BC1 body mute"), 0.5}}}, work_, [&](predict::CircuitView& view) {
    EXPECT_EQ(predict::arrival(scene, view, module("BC1"), module("GWM")), 0.0);
    EXPECT_GT(predict::arrival(scene, view, module("LFT"), module("BC2")), 0.99);
  });
}

INSTANTIATE_TEST_SUITE_P(Example, RefuseTruck, ::testing::Values("refuse-truck"));

class RoadSweeper : public Buses {};

TEST_P(RoadSweeper, AnUnpoweredModulePullsTheBusDownUntilItIsUnplugged) {
  const predict::Scene& scene = campaign_.scene();
  const predict::Case starved{{{fault("J5:1 open"), 0.5}}};
  circuit::Configuration apart = work_;
  for (std::size_t c = 0; c < e_.loom.connectors.size(); ++c)
    if (e_.loom.connectors[c].module == module("WTR")) apart.unplugged.insert(circuit::ConnectorId(c));
  ASSERT_EQ(apart.unplugged.size(), 1U);
  campaign_.with_view(starved, work_, [&](predict::CircuitView& view) {
    EXPECT_LT(predict::arrival(scene, view, module("MCU"), module("DSP")), 0.05);
  });
  campaign_.with_view(starved, apart, [&](predict::CircuitView& view) {
    EXPECT_GT(predict::arrival(scene, view, module("MCU"), module("DSP")), 0.99);
  });
}

INSTANTIATE_TEST_SUITE_P(Example, RoadSweeper, ::testing::Values("road-sweeper"));

}  // namespace
}  // namespace halfsplit
