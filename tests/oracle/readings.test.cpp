// SPDX-License-Identifier: Apache-2.0
// Both solving paths against ngspice: random looms, every kind of fault with a random severity, random configurations,
// random meters. HALFSPLIT_ORACLE_LOOMS says how many looms (200), HALFSPLIT_ORACLE_SEED which is the first (1),
// HALFSPLIT_ORACLE_SHOW=1 prints the circuit of a difference as SPICE text.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>
#include <set>

#include "electrical/fault_bench.h"
#include "tests/oracle/random_loom.h"
#include "tests/oracle/spice_oracle.h"

namespace halfsplit::oracle {
namespace {

using electrical::Instrument;
using electrical::Measured;

std::uint64_t from_environment(const char* name, std::uint64_t fallback) {
  const char* text = std::getenv(name);
  return text != nullptr ? std::strtoull(text, nullptr, 10) : fallback;
}
bool show_circuits() { return std::getenv("HALFSPLIT_ORACLE_SHOW") != nullptr; }

struct Tally {
  std::size_t values = 0, over_range = 0, unsettled = 0, without_answer = 0, solved_finer = 0, latched = 0, apart = 0;
  std::set<fault::FaultKind> kinds;
  double worst_slow = 0.0, worst_fast = 0.0;  // as shares of what is allowed
};

// A share of what is allowed: one part in a million of the reading, and for readings near nothing a hundredth of the
// finest digit (0.1 mV, 0.1 ohm) or a thousandth (10 mA). With filaments too: both sides solve them to the end.
double difference(Instrument instrument, const Measured& ours, const Answer& theirs) {
  const bool unsettled = theirs.kind == Answer::Kind::kUnsettled;
  if (unsettled || !ours.settled) return unsettled && !ours.settled ? 0.0 : HUGE_VAL;
  if ((theirs.kind == Answer::Kind::kOverRange) != ours.over_range) return HUGE_VAL;
  if (ours.over_range) return 0.0;
  const double floor = instrument == Instrument::kOhms ? 1.0e-3 : instrument == Instrument::kClamp ? 1.0e-5 : 1.0e-6;
  return std::abs(ours.value - theirs.value) / std::max(floor, 1.0e-6 * std::abs(theirs.value));
}

std::string words(const Measured& m) {
  return !m.settled ? "unsettled" : m.over_range ? "OL" : std::to_string(m.value);
}
std::string words(const Answer& a) {
  if (a.kind == Answer::Kind::kUnsettled) return "unsettled";
  return a.kind == Answer::Kind::kOverRange ? "OL" : std::to_string(a.value);
}

// What is wrong (nothing, one thing, now and then two on different items), one meter, in one configuration.
struct Trial {
  circuit::Configuration configuration;
  std::vector<std::pair<const fault::Fault*, double>> faults;  // with severity
  Meter meter;
};

class Comparison {
 public:
  Comparison(Ngspice& spice, std::uint64_t seed, Tally& tally)
      : spice_(spice),
        seed_(seed),
        rng_(seed),
        loom_(make_random_loom(rng_)),
        netlist_(circuit::build_netlist(loom_)),
        universe_(fault::make_universe(loom_, netlist_)),
        tally_(tally) {}

  void run() {
    for (int c = 0; c < 2; ++c) {
      Trial trial;
      trial.configuration = make_random_configuration(rng_, loom_, netlist_);
      electrical::FaultBench bench(electrical::make_model(loom_, netlist_, trial.configuration), loom_.system_volts);
      for (int f = 0; f < 3; ++f) {
        if (f > 0) choose_faults(trial);
        trial.meter = make_random_meter(rng_, netlist_);
        compare(trial, bench);
      }
    }
  }

 private:
  void choose_faults(Trial& trial) {
    trial.faults.assign(1, choose_fault());
    if (!rng_.chance(0.15)) return;
    const auto second = choose_fault();
    if (!(second.first->item == trial.faults[0].first->item)) trial.faults.push_back(second);
  }

  // Kinds first, so that the rare ones come up.
  std::pair<const fault::Fault*, double> choose_fault() {
    std::map<fault::FaultKind, std::vector<const fault::Fault*>> by_kind;
    for (const fault::Fault& fault : universe_.faults) by_kind[fault.kind].push_back(&fault);
    auto at = by_kind.begin();
    std::advance(at, static_cast<long>(rng_.below(by_kind.size())));
    const fault::Fault* fault = at->second[rng_.below(at->second.size())];
    tally_.kinds.insert(fault->kind);
    return {fault, fault::severity_at(*fault, rng_.uniform())};
  }

  std::vector<fault::Change> changes_of(const Trial& trial) const {
    std::vector<fault::Change> all;
    for (const auto& [fault, severity] : trial.faults)
      for (const fault::Change& change : fault::changes_of(netlist_, *fault, severity)) all.push_back(change);
    return electrical::remaining_changes(netlist_, trial.configuration, std::move(all));
  }

  void compare(const Trial& trial, electrical::FaultBench& bench) {
    const Instrument instrument = trial.meter.instrument;
    const electrical::Probe probe{instrument, trial.meter.red, trial.meter.black, trial.meter.wire.index()};
    const std::vector<fault::Change> changes = changes_of(trial);
    electrical::Model model = electrical::make_model(loom_, netlist_, trial.configuration);
    electrical::apply_changes(model, changes);
    const Measured slow = electrical::measure(model, probe, loom_.system_volts);
    bench.put_fault(changes);
    const Measured fast = bench.read(probe, {}).measured;

    SpiceOracle oracle(spice_, loom_, netlist_, trial.configuration);
    for (const auto& [fault, severity] : trial.faults) oracle.put_fault(*fault, severity);
    Answer theirs = oracle.read(trial.meter);
    if (theirs.kind == Answer::Kind::kNoAnswer || difference(instrument, slow, theirs) > 1.0 ||
        difference(instrument, fast, theirs) > 1.0) {
      ++tally_.solved_finer;
      oracle.be_fine();
      theirs = oracle.read(trial.meter);
    }
    if (theirs.kind == Answer::Kind::kNoAnswer) return say_no_answer(oracle);
    count(theirs);
    const double slow_difference = difference(instrument, slow, theirs);
    // What from power-up goes round in a circle may rest in use: the fast path may then show where.
    double fast_difference = slow.settled ? difference(instrument, fast, theirs) : 0.0;
    if (slow_difference <= 1.0 && fast_difference > 1.0 && rests_there_too(model, probe, bench, fast)) {
      ++tally_.latched;
      fast_difference = 0.0;
    }
    tally_.worst_slow = std::max(tally_.worst_slow, slow_difference);
    tally_.worst_fast = std::max(tally_.worst_fast, fast_difference);
    if (slow_difference <= 1.0 && fast_difference <= 1.0) return;
    ++tally_.apart;
    std::cout << "apart: " << describe(trial) << ": ngspice " << words(theirs) << ", slow " << words(slow) << ", fast "
              << words(fast) << "\n";
    if (show_circuits()) show(oracle, model);
  }

  // Few circuits rest in two ways (a driver that holds its own module's supply up, say): the slow path and ngspice say
  // where they come to rest from power-up, the fast path where they stay in use. Both must be rests of the same
  // circuit.
  bool rests_there_too(electrical::Model model, const electrical::Probe& probe, const electrical::FaultBench& bench,
                       const Measured& fast) const {
    if (!fast.settled || fast.over_range) return false;
    double ampere = 1.0;
    if (probe.instrument == Instrument::kOhms) {
      ampere = meters::test_current(*probe.meter, meters::range_of(*probe.meter, probe.instrument, fast.value));
      model.branches.push_back(electrical::test_current_branch(probe, ampere));
    } else if (probe.instrument != Instrument::kClamp) {
      model.branches.push_back(electrical::meter_branch(probe, loom_.system_volts));
    }
    electrical::States in_use = bench.states();
    in_use.on.resize(model.branches.size(), 0);
    in_use.tripped.resize(model.branches.size(), 0);
    in_use.lamp_v.resize(model.branches.size(), 0.0);
    const electrical::OperatingPoint rest = electrical::solve_operating_point(model, in_use);
    if (rest.status != electrical::Status::kSettled) return false;
    const double value = probe.instrument == Instrument::kClamp
                             ? rest.amperes(probe.branch)
                             : (rest.volts(probe.red) - rest.volts(probe.black)) / ampere;
    return std::abs(value - fast.value) <=
           std::max(probe.instrument == Instrument::kOhms ? 1.0e-3 : 1.0e-6, 1.0e-6 * std::abs(value));
  }

  void count(const Answer& theirs) {
    if (theirs.kind == Answer::Kind::kValue) ++tally_.values;
    if (theirs.kind == Answer::Kind::kOverRange) ++tally_.over_range;
    if (theirs.kind == Answer::Kind::kUnsettled) ++tally_.unsettled;
  }

  std::string describe(const Trial& trial) const {
    constexpr const char* kInstruments[] = {"volts", "ohms", "clamp", "test lamp"};
    const Meter& m = trial.meter;
    std::string text = "seed " + std::to_string(seed_) + ", ";
    for (const auto& [fault, severity] : trial.faults)
      text += fault->name + " severity " + std::to_string(severity) + ", ";
    text += std::string(kInstruments[static_cast<std::size_t>(m.instrument)]) + " ";
    if (m.instrument == Instrument::kClamp) return text + netlist_.elements[m.wire.index()].name;
    return text + netlist_.node_names[m.red.index()] + " / " + netlist_.node_names[m.black.index()];
  }

  void say_no_answer(const SpiceOracle& oracle) {
    ++tally_.without_answer;
    std::cout << "no answer from ngspice: seed " << seed_ << "\n";
    if (!show_circuits()) return;
    std::cout << spice_.said() << "\n";
    for (const std::string& line : oracle.lines()) std::cout << "    " << line << "\n";
  }

  // What stands otherwise in our circuit at rest, and the circuit of the other side.
  void show(const SpiceOracle& oracle, const electrical::Model& model) const {
    const electrical::OperatingPoint rest = electrical::solve_operating_point(model);
    for (std::size_t i = 0; i < netlist_.elements.size(); ++i)
      if (oracle.carries(circuit::ElementId(i)) != rest.laws.at(i).conducts())
        std::cout << "    without the meter, ours " << (rest.laws[i].conducts() ? "carries " : "does not carry ")
                  << netlist_.elements[i].name << "\n";
    for (const std::string& line : oracle.lines()) std::cout << "    " << line << "\n";
  }

  Ngspice& spice_;
  std::uint64_t seed_;
  base::Rng rng_;
  circuit::Loom loom_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  Tally& tally_;
};

TEST(Readings, EqualThoseOfNgspiceOnRandomLooms) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  const std::uint64_t first = from_environment("HALFSPLIT_ORACLE_SEED", 1);
  const std::uint64_t looms = from_environment("HALFSPLIT_ORACLE_LOOMS", 200);
  Tally tally;
  for (std::uint64_t seed = first; seed < first + looms; ++seed) Comparison(*spice, seed, tally).run();
  std::cout << "looms from seeds " << first << " to " << first + looms - 1 << ": " << tally.values << " values, "
            << tally.over_range << " OL, " << tally.unsettled << " unsettled; " << tally.kinds.size()
            << " kinds of fault; worst share of what is allowed: slow path " << tally.worst_slow << ", fast path "
            << tally.worst_fast << "; " << tally.latched << " with a second rest; ngspice: " << spice->runs()
            << " runs, " << tally.solved_finer << " solved finer, " << tally.without_answer << " without an answer\n";
  EXPECT_EQ(tally.apart, 0U);
  EXPECT_LE(tally.latched, 1 + looms / 500);
  EXPECT_LE(tally.without_answer, looms / 100);
  if (looms >= 200) {
    EXPECT_EQ(tally.kinds.size(), fault::kFaultKinds) << "every kind of fault comes up";
  }
}

}  // namespace
}  // namespace halfsplit::oracle
