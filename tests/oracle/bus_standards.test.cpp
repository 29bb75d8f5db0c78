// SPDX-License-Identifier: Apache-2.0
// What standards and the trade say that a bus bears, and what not; levels of the kinds beside high-speed CAN. Source
// and basis beside each; tests/data/facts/can_ft_failures.csv, can_levels.csv.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "circuit/test_loom.h"
#include "predict/bus.h"
#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

using circuit::BusId;
using circuit::BusKind;
using circuit::BusReading;
using circuit::EndPoint;
using circuit::ModuleId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::test::LoomMaker;
using fault::Change;

// Modules in a row on a backbone of splices, 5 m between two, each with stubs of 1 m; a battery for shorts to supply.
// Wires "h1", "l1" lead from the first splices to the second.
class StandardBus {
 public:
  StandardBus(BusKind kind, std::size_t seats, double volts) : m_(volts), kind_(kind) {
    circuit::Bus bus;
    bus.name = "B";
    bus.kind = kind;
    bus.bit_rate = circuit::bus_kind(kind).bit_rate;
    bus.sample_percent = circuit::bus_kind(kind).sample_percent;
    m_.loom.buses.push_back(bus);
    const circuit::PartId battery = m_.part(PartKind::kBattery, "BAT");
    m_.loom.supply = battery;
    m_.wire(m_.at(battery, "-"), m_.chassis(), 25.0, 0.5);
    m_.wire(m_.at(battery, "+"), m_.at(m_.splice("SP")), 25.0, 0.5);
    for (std::size_t i = 0; i < seats; ++i) add_seat(std::to_string(i));
    if (kind == BusKind::kCan) add_terminators(seats - 1);
  }

  // Faults by name, at this severity.
  std::vector<Change> faults(const std::vector<std::string>& names, double severity) {
    build();
    std::vector<Change> all;
    for (const std::string& name : names) {
      const fault::FaultId id = universe_.find(name);
      EXPECT_FALSE(id.is_none()) << name;
      if (id.is_none()) continue;
      for (const Change& change : fault::changes_of(netlist_, universe_.faults[id.index()], severity))
        all.push_back(change);
    }
    return all;
  }
  // A line held at volts over the chassis.
  Change held(const std::string& point, double volts) {
    build();
    Change change;
    change.kind = Change::Kind::kSource;
    change.a = node(point);
    change.b = netlist_.reference;
    change.value = 0.1;
    change.volt = volts;
    return change;
  }
  void put(std::vector<Change> changes) {
    build();
    electrical::Model model = electrical::make_model(m_.loom, netlist_, {});
    electrical::apply_changes(model, changes);
    view_.emplace(std::move(model), m_.loom.system_volts, changes);
  }
  predict::BusPicture picture() { return *predict::bus_picture(scene(), *view_, BusId(0)); }
  predict::BusLevels levels(std::size_t way) {
    return predict::bus_levels(scene(), *view_, BusId(0), circuit::bus_kind(kind_).readings[way]);
  }
  // Does every message arrive? At least one?
  bool all_arrive() { return share_that_arrives() > 0.999; }
  double share_that_arrives() {
    const predict::BusPicture p = picture();
    double sum = 0.0;
    for (std::size_t s = 0; s < p.seats; ++s)
      for (std::size_t r = 0; r < p.seats; ++r) sum += s == r ? 0.0 : p.arrives[s * p.seats + r];
    return sum / static_cast<double>(p.seats * (p.seats - 1));
  }
  // In this way of reading every seat rests and reads every sender.
  bool way_works(std::size_t way) {
    const BusReading& reading = circuit::bus_kind(kind_).readings[way];
    const double threshold = circuit::bus_volts(circuit::bus_kind(kind_), reading.threshold, m_.loom.system_volts);
    const predict::BusLevels l = levels(way);
    for (std::size_t r = 0; r < l.seats; ++r) {
      if (predict::read_level(reading, l.rest_high[r], l.rest_low[r]) >= threshold) return false;
      for (std::size_t s = 0; s < l.seats; ++s)
        if (predict::read_level(reading, l.driven_high[s * l.seats + r], l.driven_low[s * l.seats + r]) <= threshold)
          return false;
    }
    return true;
  }
  double volts(const std::string& red) {
    const circuit::NodeId at = node(red);
    return view_->read({electrical::Instrument::kVolts, at, netlist_.reference, 0}).measured.value +
           predict::talking(scene(), *view_, at, netlist_.reference).mean;
  }

 private:
  void add_seat(const std::string& number) {
    const ModuleId id = m_.module("M" + number);
    const EndPoint high = m_.at(m_.splice("H" + number));
    const bool two = circuit::bus_kind(kind_).two_wires;
    const EndPoint low = two ? m_.at(m_.splice("L" + number)) : EndPoint{};
    circuit::ModulePin pin;
    pin.bus = BusId(0);
    pin.role = two ? PinRole::kCanHigh : PinRole::kBusWire;
    pin.commander = kind_ == BusKind::kLin && number == "0";
    m_.wire(high, m_.at(id, m_.pin(id, "", "3", pin)), 0.5, 1.0);
    pin.role = PinRole::kCanLow;
    if (two) m_.wire(low, m_.at(id, m_.pin(id, "", "4", pin)), 0.5, 1.0);
    if (number != "0") {
      name(m_.wire(last_high_, high, 0.5, 5.0), "h" + number);
      if (two) name(m_.wire(last_low_, low, 0.5, 5.0), "l" + number);
    }
    last_high_ = high, last_low_ = low;
  }
  void name(circuit::WireId wire, const std::string& name) {
    m_.loom.wires[wire.index()].name = name;
    m_.loom.wires[wire.index()].bundle = "pair " + name.substr(1);
  }
  void add_terminators(std::size_t last) {
    for (const std::size_t at : {std::size_t{0}, last}) {
      circuit::ModuleInside inside;
      inside.pin_a = 0, inside.pin_b = 1;
      m_.loom.modules[at].inside.push_back(inside);
    }
  }
  void build() {
    if (netlist_.node_count() != 0) return;
    netlist_ = circuit::build_netlist(m_.loom);
    universe_ = fault::make_universe(m_.loom, netlist_);
  }
  predict::Scene scene() const { return {m_.loom, netlist_, universe_}; }
  circuit::NodeId node(const std::string& point) const {
    return netlist_.points.at(circuit::find_point(netlist_, point)->index()).node;
  }

  LoomMaker m_;
  BusKind kind_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  std::optional<predict::SlowView> view_;
  EndPoint last_high_, last_low_;
};

constexpr double kShortOhm = 0.05;

// ISO 11898-3, the failures of its clause on bus failure management (clause from memory; rows as a transceiver's data
// sheet repeats them): the receiver's mode that the row names works, and every message arrives.
struct Failure {
  std::string number;
  std::vector<std::string> faults;
  std::string held;  // a line at `volts`
  double volts = 0.0;
};
const std::vector<Failure>& failures() {
  static const std::vector<Failure> kFailures = {{"1", {"h2 open"}, "", 0.0},      {"2", {"l2 open"}, "", 0.0},
                                                 {"3", {"h2 to supply"}, "", 0.0}, {"3a", {}, "H1", 5.0},
                                                 {"4", {"l2 to ground"}, "", 0.0}, {"5", {"h2 to ground"}, "", 0.0},
                                                 {"6", {"l2 to supply"}, "", 0.0}, {"6a", {}, "L1", 5.0},
                                                 {"7", {"h2+l2 touch"}, "", 0.0}};
  return kFailures;
}

TEST(BusStandards, AFaultTolerantBusBearsTheFailuresOfItsStandard) {
  const std::vector<FactRow> rows = read_facts("can_ft_failures.csv");
  ASSERT_EQ(rows.size(), failures().size());
  for (const FactRow& row : rows) {
    SCOPED_TRACE(row.text("failure_no") + ": " + row.text("fault"));
    const auto found = std::find_if(failures().begin(), failures().end(),
                                    [&](const Failure& f) { return f.number == row.text("failure_no"); });
    ASSERT_NE(found, failures().end());
    StandardBus bus(BusKind::kCanFaultTolerant, 4, 12.0);
    std::vector<Change> changes = bus.faults(found->faults, kShortOhm);
    if (!found->held.empty()) changes.push_back(bus.held(found->held, found->volts));
    bus.put(changes);
    const std::string& mode = row.text("receiver_mode");
    EXPECT_TRUE(bus.way_works(mode == "differential" ? 0 : mode.starts_with("CAN_H") ? 1 : 2)) << mode;
    EXPECT_TRUE(bus.all_arrive());
  }
}

// Two of them at once, one on either line, it does not bear (ours: no wire is left).
TEST(BusStandards, AFaultTolerantBusDoesNotBearBothLines) {
  for (const std::vector<std::string>& both : {std::vector<std::string>{"h2 open", "l2 open"},
                                               {"h2 to ground", "l2 to ground"},
                                               {"h2 to supply", "l2 to supply"},
                                               {"h2 to supply", "l2 to ground"}}) {
    StandardBus bus(BusKind::kCanFaultTolerant, 4, 12.0);
    bus.put(bus.faults(both, kShortOhm));
    EXPECT_LT(bus.share_that_arrives(), 0.5) << both.front() << ", " << both.back();
  }
}

// ISO 11992-1, fault tolerance of the link (clause from memory): one line open, shorted to ground or to the supply, or
// the two shorted to each other, and it goes on over the other one; both lines at once it does not bear.
TEST(BusStandards, ATruckTrailerLinkBearsOneLine) {
  for (const char* one :
       {"h1 open", "l1 open", "h1 to ground", "l1 to ground", "h1 to supply", "l1 to supply", "h1+l1 touch"}) {
    StandardBus bus(BusKind::kTruckTrailer, 2, 24.0);
    bus.put(bus.faults({one}, kShortOhm));
    EXPECT_TRUE(bus.all_arrive()) << one;
  }
  for (const std::vector<std::string>& both : {std::vector<std::string>{"h1 open", "l1 open"},
                                               {"h1 to ground", "l1 to ground"},
                                               {"h1 to supply", "l1 to supply"}}) {
    StandardBus bus(BusKind::kTruckTrailer, 2, 24.0);
    bus.put(bus.faults(both, kShortOhm));
    EXPECT_EQ(bus.share_that_arrives(), 0.0) << both.front();
  }
}

double limit(const std::string& standard, const std::string& quantity, const std::string& state, const char* column) {
  for (const FactRow& row : read_facts("can_levels.csv"))
    if (row.text("standard") == standard && row.text("quantity").starts_with(quantity) &&
        row.text("state_or_place") == state)
      return row.number(column);
  ADD_FAILURE() << "no row " << standard << ": " << quantity << ", " << state;
  return 0.0;
}

// A transceiver's data sheet (source), recessive levels from memory of ISO 11898-3.
TEST(BusStandards, FaultTolerantLevelsLieInTheirBands) {
  StandardBus bus(BusKind::kCanFaultTolerant, 4, 12.0);
  bus.put({});
  const predict::BusLevels l = bus.levels(0);
  const auto at = [](const char* quantity, const char* state, const char* column) {
    return limit("ISO 11898-3", quantity, state, column);
  };
  EXPECT_LE(l.rest_high[2], at("bus voltage CAN_H", "recessive", "max"));
  EXPECT_GE(l.rest_low[2], at("bus voltage CAN_L", "recessive", "min") - 1.0e-3);
  EXPECT_GE(l.driven_high[2], at("bus voltage CAN_H", "dominant", "min"));
  EXPECT_LE(l.driven_low[2], at("bus voltage CAN_L", "dominant", "max"));
  EXPECT_NEAR(l.rest_high[2] - l.rest_low[2], at("differential CAN_H", "recessive", "nominal"), 0.01);
  EXPECT_GE(l.driven_high[2] - l.driven_low[2], at("differential CAN_H", "dominant", "min"));
  EXPECT_EQ(circuit::bus_kind(BusKind::kCanFaultTolerant).readings[0].threshold,
            at("differential receiver threshold", "both", "nominal"));
}

// A public page of the users' group of CAN (source): a third and two thirds of the supply change places.
TEST(BusStandards, TruckTrailerLevelsAreThirdsOfTheSupply) {
  StandardBus bus(BusKind::kTruckTrailer, 2, 24.0);
  bus.put({});
  const predict::BusLevels l = bus.levels(0);
  const auto share = [](const char* line, const char* state) {
    return limit("ISO 11992-1", std::string(line) + " level", state, "nominal") * 24.0;
  };
  EXPECT_NEAR(l.rest_high[1], share("CAN_H", "recessive"), 0.1);
  EXPECT_NEAR(l.rest_low[1], share("CAN_L", "recessive"), 0.1);
  EXPECT_NEAR(l.driven_high[1], share("CAN_H", "dominant"), 0.1);
  EXPECT_NEAR(l.driven_low[1], share("CAN_L", "dominant"), 0.1);
}

// Public pages on LIN (source): at 0.6 of the supply and above recessive, at 0.4 and below dominant.
TEST(BusStandards, LinLevelsLieBeyondTheReceiversThresholds) {
  StandardBus bus(BusKind::kLin, 6, 12.0);
  bus.put({});
  const predict::BusLevels l = bus.levels(0);
  for (std::size_t r = 0; r < l.seats; ++r) {
    EXPECT_GT(l.rest_high[r], 12.0 * limit("ISO 17987-4", "receiver threshold", "recessive", "min"));
    for (std::size_t s = 0; s < l.seats; ++s)
      EXPECT_LT(l.driven_high[s * l.seats + r], 12.0 * limit("ISO 17987-4", "receiver threshold", "dominant", "max"));
  }
  EXPECT_TRUE(bus.all_arrive());
}

// ---- high-speed CAN, common practice unless said otherwise

// 3.5 and 1.5 V driven (data sheets: source), 2.5 V at rest; a lively bus shows a mean of 2.6 and 2.4 V to a meter.
TEST(BusStandards, ALivelyHighSpeedBus) {
  StandardBus bus(BusKind::kCan, 5, 24.0);
  bus.put({});
  const predict::BusLevels l = bus.levels(0);
  EXPECT_NEAR(l.rest_high[3], 2.5, 0.01);
  EXPECT_NEAR(l.driven_high[3], limit("ISO 11898-2:2016", "bus voltage CAN_H", "dominant", "nominal"), 0.05);
  EXPECT_NEAR(l.driven_low[3], limit("ISO 11898-2:2016", "bus voltage CAN_L", "dominant", "nominal"), 0.05);
  EXPECT_NEAR(bus.volts("H2"), 2.6, 0.1);
  EXPECT_NEAR(bus.volts("L2"), 2.4, 0.1);
  EXPECT_TRUE(bus.all_arrive());
}

// Lines shorted to each other, high to ground, low to the supply, both lines to anything: nothing goes on. Low to
// ground or high to the supply: the difference is still made, though the common mode moves (data sheets' tables of
// faults say that a bus may go on; common practice).
TEST(BusStandards, ShortsOfAHighSpeedBus) {
  const auto share = [](const std::vector<std::string>& faults) {
    StandardBus bus(BusKind::kCan, 5, 12.0);
    bus.put(bus.faults(faults, kShortOhm));
    return bus.share_that_arrives();
  };
  EXPECT_EQ(share({"h2+l2 touch"}), 0.0);
  EXPECT_EQ(share({"h2 to ground"}), 0.0);
  EXPECT_EQ(share({"l2 to supply"}), 0.0);
  EXPECT_GT(share({"l2 to ground"}), 0.99);
}

// One wire open in the middle: those on one side still hear each other, those on different sides do not.
TEST(BusStandards, OneWireOpenIsAPartialLoss) {
  for (const char* line : {"h2 open", "l2 open"}) {
    StandardBus bus(BusKind::kCan, 5, 24.0);
    bus.put(bus.faults({line}, 0.0));
    const predict::BusPicture p = bus.picture();
    EXPECT_LT(p.arrives[0 * p.seats + 4], 0.5) << line;
    EXPECT_LT(bus.share_that_arrives(), 0.9) << line;
    const predict::BusLevels l = bus.levels(0);
    EXPECT_GT(l.driven_high[0 * l.seats + 1] - l.driven_low[0 * l.seats + 1], 0.9) << "the neighbour hears, " << line;
  }
}

// A line that ends at one module: it hears next to nothing, the others go on.
TEST(BusStandards, AnOpenStubLosesItsModuleOnly) {
  StandardBus bus(BusKind::kCan, 5, 24.0);
  bus.put(bus.faults({"M2:3 open"}, 0.0));
  const predict::BusPicture p = bus.picture();
  EXPECT_LT(p.arrives[2 * p.seats + 0], 0.5);
  EXPECT_GT(p.arrives[0 * p.seats + 1], 0.4);
}

}  // namespace
}  // namespace halfsplit::oracle
