// SPDX-License-Identifier: Apache-2.0
// Who puts what on a bus: volts of both lines at every seat, at rest and with every other seat driving, time constants,
// ohms across the pair with the supply off. Random buses with faults, in every way of reading of their kind, against
// ngspice operating points, to a millionth. A share runs in every test run, the whole of it with
//     ./dev test -C slow -L slow
// HALFSPLIT_BUSES says how many, HALFSPLIT_BUS_SEED which is the first (1).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>

#include "predict/bus.h"
#include "tests/oracle/bus_deck.h"

namespace halfsplit::oracle {
namespace {

using circuit::BusId;
using circuit::BusReading;

constexpr std::uint64_t kLevelBuses = 500;
constexpr double kAllowed = 1.0e-6;  // of a volt, or of the value where it is larger
// Where a rail has two loads they share its milliohm (the 5 V of a fault-tolerant seat that drives the high line and
// holds the low one; the rails of a seat that holds the bus and drives it), and the program gives each line a milliohm
// of its own: 25 mA through it are 25 microvolts, a short to the supply makes more of it.
constexpr double kAllowedOnOneRail = 2.0e-4;
bool share_a_rail(const BusTopology& bus) {
  return bus.kind == circuit::BusKind::kCanFaultTolerant ||
         std::any_of(bus.seats.begin(), bus.seats.end(), [](const PlainSeat& seat) { return seat.holds; });
}

std::uint64_t wanted_count(const char* name, std::uint64_t fallback) {
  const char* text = std::getenv(name);
  return text != nullptr ? std::strtoull(text, nullptr, 10) : fallback;
}

// The program's side: the fast path, which suspects are asked on, and the slow one.
class OurBus {
 public:
  explicit OurBus(const BusTopology& bus)
      : bus_(bus),
        netlist_(circuit::build_netlist(bus.loom)),
        universe_(fault::make_universe(bus.loom, netlist_)),
        scene_{bus.loom, netlist_, universe_},
        bench_(electrical::make_model(bus.loom, netlist_, bus.state), bus.loom.system_volts) {
    for (const auto& [name, severity] : bus.faults) {
      const fault::FaultId id = universe_.find(name);
      if (id.is_none()) {
        ADD_FAILURE() << "no fault " << name << " in " << bus.about;
        continue;
      }
      for (const fault::Change& change : fault::changes_of(netlist_, universe_.faults[id.index()], severity))
        changes_.push_back(change);
    }
    fast_.emplace(bench_, changes_, tolerance_);
    electrical::Model model = electrical::make_model(bus.loom, netlist_, bus.state);
    electrical::apply_changes(model, changes_);
    slow_.emplace(std::move(model), bus.loom.system_volts, changes_);
  }
  predict::CircuitView& fast() { return *fast_; }
  predict::CircuitView& slow() { return *slow_; }
  predict::BusLevels levels(predict::CircuitView& view, const BusReading& reading) {
    return predict::bus_levels(scene_, view, BusId(0), reading);
  }
  circuit::NodeId node(const std::string& point) const {
    return netlist_.points.at(circuit::find_point(netlist_, point)->index()).node;
  }
  electrical::Measured ohms(const std::string& red, const std::string& black) {
    circuit::Configuration off;
    electrical::FaultBench bench(electrical::make_model(bus_.loom, netlist_, off), bus_.loom.system_volts);
    bench.put_fault(changes_);
    return bench.read({electrical::Instrument::kOhms, node(red), node(black), 0}, {}).measured;
  }

 private:
  const BusTopology& bus_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  predict::Scene scene_;
  electrical::FaultBench bench_;
  std::vector<fault::Change> changes_;
  std::vector<double> tolerance_;
  std::optional<predict::FastView> fast_;
  std::optional<predict::SlowView> slow_;
};

struct Tally {
  std::size_t buses = 0, volts = 0, times = 0, ohms = 0, without_answer = 0, apart = 0, unsettled = 0;
  double worst_volts = 0.0, worst_time = 0.0, worst_ohms = 0.0;
  std::map<std::string, std::size_t> kinds, classes;
};

class Comparison {
 public:
  Comparison(Ngspice& spice, const BusTopology& bus, Tally& tally)
      : bus_(bus), deck_(spice, bus), ours_(bus), tally_(tally) {}

  void run() {
    ++tally_.buses;
    ++tally_.kinds[std::string(circuit::bus_kind(bus_.kind).word)];
    ++tally_.classes[bus_.class_];
    if (!deck_.settle()) {
      ++tally_.without_answer;
      std::cout << "no answer: " << bus_.about << "\n";
      return;
    }
    compare_lives();
    for (const BusReading& reading : circuit::bus_kind(bus_.kind).readings) compare_way(reading);
    if (circuit::bus_kind(bus_.kind).two_wires) compare_ohms();
  }

 private:
  void differ(const std::string& what, double ours, double theirs) {
    ++tally_.apart;
    if (differs_++ == 0) ADD_FAILURE() << bus_.about << "\n  " << what << ": " << ours << ", ngspice " << theirs;
  }
  void compare_lives() {
    for (std::size_t i = 0; i < bus_.seats.size(); ++i)
      for (predict::CircuitView* view : {&ours_.fast(), &ours_.slow()})
        if (view->alive(circuit::ModuleId(i)) != deck_.alive(i))
          differ("life of " + bus_.seats[i].name, view->alive(circuit::ModuleId(i)), deck_.alive(i));
  }
  void compare_way(const BusReading& reading) {
    const std::optional<DeckLevels> theirs = deck_.levels(reading);
    if (!theirs) {
      ++tally_.without_answer;
      return;
    }
    for (predict::CircuitView* view : {&ours_.fast(), &ours_.slow()}) {
      if (!view->settled()) {
        ++tally_.unsettled;
        continue;
      }
      compare_levels(reading, ours_.levels(*view, reading), *theirs);
    }
  }
  void compare_levels(const BusReading& reading, const predict::BusLevels& ours, const DeckLevels& theirs) {
    const std::size_t n = theirs.seats;
    const bool two = circuit::bus_kind(bus_.kind).two_wires;
    for (std::size_t r = 0; r < n; ++r) {
      const std::string at = " at " + bus_.seats[r].name;
      if (reading.drives_high) volts("high at rest" + at, ours.rest_high[r], theirs.rest_high[r]);
      if (two && reading.drives_low) volts("low at rest" + at, ours.rest_low[r], theirs.rest_low[r]);
      time("tau" + at, ours.tau_s[r], theirs.tau_s[r]);
      for (std::size_t s = 0; s < n; ++s) {
        if (!deck_.takes_part(s)) continue;
        const std::string from = at + " from " + bus_.seats[s].name;
        if (reading.drives_high) volts("high" + from, ours.driven_high[s * n + r], theirs.driven_high[s * n + r]);
        if (two && reading.drives_low) volts("low" + from, ours.driven_low[s * n + r], theirs.driven_low[s * n + r]);
      }
    }
  }
  void volts(const std::string& what, double ours, double theirs) {
    ++tally_.volts;
    const double share = std::abs(ours - theirs) / std::max(1.0, std::abs(theirs));
    tally_.worst_volts = std::max(tally_.worst_volts, share);
    if (!(share <= allowed_)) differ(what, ours, theirs);
  }
  void time(const std::string& what, double ours, double theirs) {
    ++tally_.times;
    const double share = std::abs(ours - theirs) / std::max(1.0e-8, std::abs(theirs));
    tally_.worst_time = std::max(tally_.worst_time, share);
    if (!(share <= 10.0 * allowed_)) differ(what, ours, theirs);
  }
  // At the first knot of the backbone, the key off; to the last digit of the meter.
  void compare_ohms() {
    for (const auto& [name, severity] : bus_.faults)
      if (name.ends_with("to supply")) return;
    const electrical::Measured ours = ours_.ohms("H0", "L0");
    const std::optional<double> theirs = deck_.settle(false) ? deck_.ohms("H0", "L0", 1.0e-3) : std::nullopt;
    if (!theirs) return;
    ++tally_.ohms;
    if (ours.over_range) {
      differ("ohms, OL", 0.0, *theirs);
      return;
    }
    const double off = std::abs(ours.value - *theirs) / std::max(0.1, 1.0e-4 * *theirs);
    tally_.worst_ohms = std::max(tally_.worst_ohms, off);
    if (!(off <= 1.0)) differ("ohms", ours.value, *theirs);
  }

  const BusTopology& bus_;
  BusDeck deck_;
  OurBus ours_;
  Tally& tally_;
  double allowed_ = share_a_rail(bus_) ? kAllowedOnOneRail : kAllowed;
  std::size_t differs_ = 0;
};

TEST(BusLevelsOracle, EqualThoseOfNgspiceOnRandomBuses) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  const std::uint64_t first = wanted_count("HALFSPLIT_BUS_SEED", 1);
  const std::uint64_t count = wanted_count("HALFSPLIT_BUSES", kLevelBuses);
  Tally tally;
  for (std::uint64_t seed = first; seed < first + count; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const BusTopology bus = random_bus(seed);
    Comparison(*spice, bus, tally).run();
  }
  std::cout << "buses from seeds " << first << " to " << first + count - 1 << ": " << tally.volts << " volts, "
            << tally.times << " time constants, " << tally.ohms << " ohms; worst: " << tally.worst_volts << ", "
            << tally.worst_time << ", " << tally.worst_ohms << " digits; ngspice without an answer "
            << tally.without_answer << "\n";
  for (const auto& [kind, n] : tally.kinds) std::cout << "  " << kind << " " << n;
  for (const auto& [what, n] : tally.classes) std::cout << "  " << what << " " << n;
  std::cout << "\n";
  EXPECT_EQ(tally.apart, 0U);
  EXPECT_EQ(tally.unsettled, 0U);
  EXPECT_LE(tally.without_answer, count / 100);
}

// LIN with a dead module or a lost ground, a fault-tolerant seat without supply that holds the bus; two equal supplies.
TEST(BusLevelsOracle, EqualThoseOfNgspiceWhereTheyOnceDidNot) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  Tally tally;
  for (const std::uint64_t seed : {1218U, 3691U, 4310U, 5843U, 6554U, 6758U}) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const BusTopology bus = random_bus(seed);
    Comparison(*spice, bus, tally).run();
  }
  EXPECT_EQ(tally.apart, 0U);
  EXPECT_EQ(tally.without_answer, 0U);
  EXPECT_GT(tally.times, 30U);
}

}  // namespace
}  // namespace halfsplit::oracle
