// SPDX-License-Identifier: Apache-2.0
// The spread of a reading by the adjoint (first order) against the slow path with every element's main value moved: one
// by one (central differences, to a few in a thousand) on random looms, and all together at random (Monte Carlo,
// normal, sigma = half-width / 3, seeds printed, within 10 %) where the reading is smooth: no state moves in any draw.
// HALFSPLIT_ORACLE_DRAWS: draws for each reading (500).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>

#include "circuit/test_loom.h"
#include "electrical/fault_bench.h"
#include "tests/oracle/random_loom.h"
#include "tests/oracle/spread.h"

namespace halfsplit::oracle {
namespace {

using circuit::ElementKind;
using electrical::Branch;
using electrical::Instrument;
using electrical::Model;
using electrical::OperatingPoint;
using electrical::Probe;

// A meter in a circuit whose values can be moved; solved anew each time, from the rest of the nominal circuit.
class Moved {
 public:
  Moved(Model model, const Probe& probe, double system_volts, double ohms_value)
      : model_(std::move(model)), probe_(probe) {
    if (probe.instrument == Instrument::kOhms) {
      ampere_ = meters::test_current(*probe.meter, meters::range_of(*probe.meter, probe.instrument, ohms_value));
      model_.branches.push_back(electrical::test_current_branch(probe, ampere_));
    } else if (probe.instrument != Instrument::kClamp) {
      model_.branches.push_back(electrical::meter_branch(probe, system_volts));
    }
    rest_ = electrical::solve_operating_point(model_);
  }

  [[nodiscard]] bool settled() const { return rest_.status == electrical::Status::kSettled; }
  double value() { return value_of(rest_); }
  double& main(std::size_t index) {
    const circuit::ModuleId module = model_.branches[index].module;
    return main_value(model_, index, !module.is_none() && rest_.states.alive[module.index()] != 0);
  }
  // NaN when a state moved.
  double again() {
    const OperatingPoint now = electrical::solve_operating_point(model_, rest_.states);
    const bool same = now.status == electrical::Status::kSettled && now.states.on == rest_.states.on &&
                      now.states.alive == rest_.states.alive;
    return same ? value_of(now) : std::nan("");
  }

  // Root of the sum of squares of what each element's sigma does alone. NaN when the reading is not smooth.
  double spread_one_by_one(const std::vector<double>& tolerance) {
    double sum = 0.0;
    for (std::size_t i = 0; i < tolerance.size(); ++i) {
      if (tolerance[i] <= 0.0) continue;
      constexpr double kStep = 1.0e-4;
      double& value = main(i);
      const double nominal = value;
      value = nominal * (1.0 + kStep);
      const double up = again();
      value = nominal * (1.0 - kStep);
      const double down = again();
      value = nominal;
      const double slope = (up - down) / (2.0 * kStep);
      sum += slope * slope * tolerance[i] * tolerance[i] / 9.0;
    }
    return std::sqrt(sum);
  }

  double spread_of_draws(const std::vector<double>& tolerance, base::Rng& rng, int draws) {
    double sum = 0.0;
    double squares = 0.0;
    const double nominal = value();
    const Model kept = model_;
    for (int d = 0; d < draws; ++d) {
      for (std::size_t i = 0; i < tolerance.size(); ++i)
        if (tolerance[i] > 0.0) main(i) *= std::max(0.02, 1.0 + tolerance[i] / 3.0 * rng.normal());
      const double off = again() - nominal;
      sum += off;
      squares += off * off;
      model_ = kept;
    }
    return std::sqrt((squares - sum * sum / draws) / (draws - 1));
  }

 private:
  double value_of(const OperatingPoint& point) const {
    if (probe_.instrument == Instrument::kClamp) return point.amperes(probe_.branch);
    const double v = point.volts(probe_.red) - point.volts(probe_.black);
    return probe_.instrument == Instrument::kOhms ? v / ampere_ : v;
  }

  Model model_;
  Probe probe_;
  double ampere_ = 0.0;
  OperatingPoint rest_;
};

std::vector<double> tolerances_of(const circuit::Netlist& netlist) {
  std::vector<double> list;
  for (const circuit::Element& e : netlist.elements) list.push_back(e.tolerance);
  return list;
}

// Below this the spread is rounding.
double least_sigma(Instrument instrument) { return instrument == Instrument::kOhms ? 1.0e-5 : 1.0e-7; }

constexpr std::uint64_t kSpreads = 25;

int draws_wanted() {
  const char* text = std::getenv("HALFSPLIT_ORACLE_DRAWS");
  return text != nullptr ? std::atoi(text) : 500;
}

struct Reading {
  electrical::Predicted predicted;
  Model model;
  Probe probe;
  std::string name;
};

// A reading of a random fault on a random loom.
Reading make_reading(base::Rng& rng, const circuit::Loom& loom, const circuit::Netlist& netlist) {
  Reading made;
  const circuit::Configuration configuration = make_random_configuration(rng, loom, netlist);
  const fault::Universe universe = fault::make_universe(loom, netlist);
  const fault::Fault& fault = universe.faults[rng.below(universe.faults.size())];
  const auto changes = electrical::remaining_changes(
      netlist, configuration, fault::changes_of(netlist, fault, fault::severity_at(fault, rng.uniform())));
  made.model = electrical::make_model(loom, netlist, configuration);
  electrical::FaultBench bench(made.model, loom.system_volts);
  electrical::apply_changes(made.model, changes);
  const Meter meter = make_random_meter(rng, netlist);
  made.probe = {meter.instrument, meter.red, meter.black, meter.wire.index()};
  bench.put_fault(changes);
  made.predicted = bench.read(made.probe, tolerances_of(netlist));
  made.name = fault.name;
  return made;
}

TEST(Tolerances, AdjointEqualsOneElementAfterTheOther) {
  std::size_t compared = 0;
  std::size_t rough = 0;
  std::size_t elsewhere = 0;
  double worst = 0.0;
  for (std::uint64_t seed = 1; seed <= kSpreads; ++seed) {
    base::Rng rng(seed);
    const circuit::Loom loom = make_random_loom(rng);
    const circuit::Netlist netlist = circuit::build_netlist(loom);
    const Reading reading = make_reading(rng, loom, netlist);
    if (!reading.predicted.measured.settled || reading.predicted.measured.over_range) continue;
    Moved moved(reading.model, reading.probe, loom.system_volts, reading.predicted.measured.value);
    if (!moved.settled()) continue;
    // A test lamp put to a circuit that stands may leave it resting elsewhere than one that was there from power-up
    // (loom.md, section 13): two rests, two spreads.
    if (std::abs(moved.value() - reading.predicted.measured.value) > 1.0e-5) {
      ++elsewhere;
      continue;
    }
    const double slow = moved.spread_one_by_one(tolerances_of(netlist));
    if (std::isnan(slow)) {
      ++rough;
      continue;
    }
    ++compared;
    const double floor = least_sigma(reading.probe.instrument);
    const double off = std::abs(reading.predicted.sigma - slow) / std::max(slow, 100.0 * floor);
    worst = std::max(worst, off);
    EXPECT_LT(off, 0.005) << "seed " << seed << " " << reading.name << " instrument "
                          << static_cast<int>(reading.probe.instrument) << ": adjoint " << reading.predicted.sigma
                          << ", one by one " << slow << ", reading " << reading.predicted.measured.value;
  }
  std::cout << "seeds 1 to " << kSpreads << ": " << compared << " spreads, " << rough << " where a state moved; worst "
            << worst << "\n";
  EXPECT_GT(compared, kSpreads * 3 / 4);
  EXPECT_LE(elsewhere, kSpreads / 10);
}

TEST(Tolerances, AdjointIsWithinTenPercentOfMonteCarlo) {
  const int draws = draws_wanted();
  std::size_t compared = 0;
  std::size_t rough = 0;
  std::size_t far = 0;
  double worst = 0.0;
  for (std::uint64_t seed = 1001; seed <= 1060 && compared < 12; ++seed) {
    base::Rng rng(seed);
    const circuit::Loom loom = make_random_loom(rng);
    const circuit::Netlist netlist = circuit::build_netlist(loom);
    const Reading reading = make_reading(rng, loom, netlist);
    const electrical::Measured& m = reading.predicted.measured;
    if (!m.settled || m.over_range || reading.predicted.sigma < 100.0 * least_sigma(reading.probe.instrument)) continue;
    Moved moved(reading.model, reading.probe, loom.system_volts, m.value);
    if (!moved.settled()) continue;
    const double slow = moved.spread_of_draws(tolerances_of(netlist), rng, draws);
    if (std::isnan(slow)) {
      ++rough;
      continue;
    }
    ++compared;
    worst = std::max(worst, std::abs(reading.predicted.sigma / slow - 1.0));
    const double apart = std::abs(reading.predicted.sigma / slow - 1.0);
    far += apart > 0.1 ? 1U : 0U;
    EXPECT_LT(apart, 0.2) << "seed " << seed << " " << reading.name << " reading " << m.value;
  }
  std::cout << "seeds from 1001: " << compared << " spreads against " << draws << " draws each, " << rough
            << " where a state moved; worst " << worst << "\n";
  EXPECT_GE(compared, 10U);
  EXPECT_LE(far, 1U);  // 500 draws know a spread to about 3 %; a reading that bends may lie further off
}

}  // namespace
}  // namespace halfsplit::oracle
