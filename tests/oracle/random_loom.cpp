// SPDX-License-Identifier: Apache-2.0
// A battery behind its clamps feeds a bus of splices; circuits leave it through fuses, switches and inline plugs to
// loads, lamps, relays, sensors and modules, and come back over studs, splices and two frames. Some ends stay open,
// some wires join what they should not, as on a real vehicle.
#include "tests/oracle/random_loom.h"

#include <algorithm>

#include "circuit/test_loom.h"

namespace halfsplit::oracle {

namespace {

using circuit::ConnectorId;
using circuit::EndPoint;
using circuit::FrameId;
using circuit::ModuleId;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;
using circuit::SetupId;

constexpr std::size_t kIsolator = 4;  // the setup that closes the battery isolator

class Grower {
 public:
  explicit Grower(base::Rng& rng) : rng_(rng), made_(rng.chance(0.5) ? 24.0 : 12.0) {}

  circuit::Loom grow() {
    volts_ = made_.loom.system_volts;
    made_.loom.ambient_c = rng_.uniform(-20.0, 60.0);
    for (const char* name : {"key on", "lights on", "engine runs", "pedal down", "isolator closed"})
      setups_.push_back(made_.setup(name));
    add_frames();
    add_supply();
    const std::size_t plugs = 1 + rng_.below(3);
    for (std::size_t i = 0; i < plugs; ++i) add_inline();
    const std::size_t circuits = 3 + rng_.below(4);
    for (std::size_t i = 0; i < circuits; ++i) add_circuit();
    const std::size_t modules = rng_.below(3);
    for (std::size_t i = 0; i < modules; ++i) add_module();
    if (rng_.chance(0.3)) join(any_bare(), any_bare());
    add_bundles();
    for (const SetupId setup : setups_)
      if (rng_.chance(setup.index() == kIsolator ? 0.9 : 0.5)) made_.loom.in_use.push_back(setup);
    return std::move(made_.loom);
  }

 private:
  // ---- bones
  // ----------------------------------------------------------------------------------------------------------

  void add_frames() {
    for (int i = 0; i < 2; ++i) grounds_.push_back(made_.at(made_.stud("G" + std::to_string(i))));
    grounds_.push_back(made_.chassis());
    if (!rng_.chance(0.4)) return;
    const FrameId trailer = made_.frame("trailer frame");
    const EndPoint stud = made_.at(made_.stud("G9", trailer));
    grounds_.push_back(stud);
    join(stud, made_.at(made_.stud("G8")));
  }

  void add_supply() {
    const PartId low = battery("BATT");
    EndPoint plus = made_.at(low, "+");
    join(made_.at(low, "-"), grounds_[rng_.below(2)]);
    if (rng_.chance(0.25)) {  // two in a row, the upper one declared second
      const PartId high = battery("BATT2");
      made_.loom.parts[low.index()].values[0] = made_.loom.parts[high.index()].values[0] = 0.525 * volts_;
      join(plus, made_.at(high, "-"));
      plus = made_.at(high, "+");
      if (rng_.chance(0.5)) made_.loom.supply = high;
    }
    if (rng_.chance(0.8)) {
      const PartId isolator = made_.part(PartKind::kSwitch, "ISO", {{"ohm", 0.001}});
      made_.loom.setups[kIsolator].sets.emplace_back(isolator, true);
      plus = through(plus, isolator, "1", "2");
    }
    const EndPoint bus = made_.at(made_.splice("S0"));
    join(plus, bus);
    feeds_.push_back(bus);
    if (!rng_.chance(0.4)) return;
    const PartId alternator = made_.part(PartKind::kAlternator, "ALT", {{"ohm", rng_.log_uniform(0.01, 0.1)}});
    made_.loom.parts[alternator.index()].runs_with = {setups_[2]};
    join(made_.at(alternator, "+"), bus);
    join(made_.at(alternator, "-"), ground());
  }

  PartId battery(const char* name) {
    return made_.part(PartKind::kBattery, name, {{"ohm", rng_.log_uniform(0.005, 0.05)}});
  }

  void add_inline() {
    const std::string name = "J" + std::to_string(inlines_.size() + 1);
    const ConnectorId id = made_.plug(name, {}, "cab", "engine");
    circuit::Connector& c = made_.loom.connectors[id.index()];
    c.rows.clear();
    c.backprobe = rng_.chance(0.7);
    if (rng_.chance(0.3)) c.contact_ohm = rng_.log_uniform(0.001, 0.02);
    inlines_.push_back(id);
  }

  std::string next_cavity(ConnectorId id) {
    auto& rows = made_.loom.connectors[id.index()].rows;
    if (rows.empty() || rows.back().size() >= 3) rows.emplace_back();
    std::size_t count = 0;
    for (const auto& row : rows) count += row.size();
    rows.back().push_back(std::to_string(count + 1));
    return rows.back().back();
  }

  void join(const EndPoint& from, const EndPoint& to) {
    const circuit::WireId id = made_.wire(from, to);
    circuit::Wire& wire = made_.loom.wires[id.index()];
    if (rng_.chance(0.8)) wire.size_mm2 = rng_.log_uniform(0.5, 10.0);
    if (rng_.chance(0.8)) wire.length_m = rng_.log_uniform(0.3, 15.0);
    if (rng_.chance(0.1)) wire.ohm = rng_.log_uniform(0.002, 1.0);
  }

  // From one end through some inline plugs; the far end is returned.
  EndPoint run(EndPoint at) {
    for (std::size_t hops = rng_.below(3); hops > 0; --hops) {
      const ConnectorId id = inlines_[rng_.below(inlines_.size())];
      const std::string cavity = next_cavity(id);
      const std::uint8_t side = rng_.chance(0.5) ? 0 : 1;
      join(at, made_.at(id, side, cavity));
      at = made_.at(id, static_cast<std::uint8_t>(1 - side), cavity);
    }
    if (rng_.chance(0.3)) {
      const EndPoint splice = made_.at(made_.splice("S" + std::to_string(made_.loom.splices.size())));
      join(at, splice);
      at = splice;
    }
    return at;
  }

  EndPoint feed() { return feeds_[rng_.below(feeds_.size())]; }
  EndPoint ground() { return grounds_[rng_.below(grounds_.size())]; }
  SetupId setup() { return setups_[rng_.below(kIsolator)]; }
  EndPoint any_bare() {
    return rng_.chance(0.5) ? feed() : made_.at(made_.splice("S" + std::to_string(made_.loom.splices.size())));
  }
  std::string next(const char* letter) { return letter + std::to_string(++count_); }

  // ---- in the way
  // -------------------------------------------------------------------------------------------------------

  EndPoint through(const EndPoint& from, PartId part, const char* in, const char* out) {
    join(from, made_.at(part, in));
    return made_.at(part, out);
  }

  EndPoint through_fuse(const EndPoint& from) {
    constexpr double kRatings[] = {1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 20.0};
    return through(from, made_.part(PartKind::kFuse, next("F"), {{"rating_a", kRatings[rng_.below(7)]}}), "1", "2");
  }

  EndPoint through_switch(const EndPoint& from, bool mostly_closed) {
    const PartId id = made_.part(PartKind::kSwitch, next("K"));
    made_.loom.parts[id.index()].normally_closed = rng_.chance(mostly_closed ? 0.8 : 0.3);
    if (rng_.chance(0.7))
      made_.loom.setups[setup().index()].sets.emplace_back(id, !made_.loom.parts[id.index()].normally_closed);
    return through(from, id, "1", "2");
  }

  // ---- circuits
  // -----------------------------------------------------------------------------------------------------------

  void add_circuit() {
    EndPoint at = run(feed());
    if (rng_.chance(0.6)) at = through_fuse(at);
    if (rng_.chance(0.5)) at = through_switch(at, false);
    if (rng_.chance(0.3)) {
      const EndPoint splice = made_.at(made_.splice("S" + std::to_string(made_.loom.splices.size())));
      join(at, splice);
      feeds_.push_back(at = splice);
    }
    at = run(at);
    switch (rng_.below(10)) {
      case 0:
      case 1:
        return lamps(at);
      case 2:
      case 3:
      case 4:
        return relay(at);
      case 5:
        return diode(at);
      case 6:
        return sender(at);
      default:
        return load(at, ground());
    }
  }

  void between(PartId part, const EndPoint& from, const EndPoint& to, const char* in = "1", const char* out = "2") {
    join(from, made_.at(part, in));
    join(run(made_.at(part, out)), to);
  }

  void load(const EndPoint& from, const EndPoint& to) {
    switch (rng_.below(5)) {
      case 0:
        return between(made_.part(PartKind::kMotor, next("M"), {{"watt", rng_.log_uniform(5.0, 200.0)}}), from, to);
      case 1:
        return between(made_.part(PartKind::kSolenoid, next("Y"), {{"ohm", rng_.log_uniform(5.0, 100.0)}}), from, to);
      case 2:
        return between(made_.part(PartKind::kHeater, next("E"), {{"watt", rng_.log_uniform(20.0, 300.0)}}), from, to);
      case 3:
        return between(made_.part(PartKind::kTerminator, next("T")), from, to);
      default:
        return between(
            made_.part(PartKind::kResistor, next("R"), {{"ohm", rng_.log_uniform(0.5, 10000.0)}}, rng_.chance(0.5)),
            from, to);
    }
  }

  void lamp(const EndPoint& from, const EndPoint& to) {
    constexpr double kWatts[] = {3.0, 5.0, 10.0, 21.0, 70.0};
    const PartId id = made_.part(PartKind::kLamp, next("L"), {{"watt", kWatts[rng_.below(5)]}});
    made_.loom.parts[id.index()].led = rng_.chance(0.3);
    between(id, from, to);
  }

  void lamps(const EndPoint& from) {
    const EndPoint to = ground();
    for (std::size_t n = 1 + rng_.below(3); n > 0; --n) lamp(from, to);
  }

  void relay(const EndPoint& from) {
    const PartId id =
        made_.part(PartKind::kRelay, next("K"), {{"coil_ohm", rng_.uniform(60.0, 400.0)}}, rng_.chance(0.8));
    const bool from_ground = rng_.chance(0.3);
    between(id, coil_feed(id, from), from_ground ? through_switch(ground(), false) : ground(), "85", "86");
    if (rng_.chance(0.3)) {
      const PartId flyback = made_.part(PartKind::kDiode, next("D"));
      join(made_.at(flyback, "K"), made_.at(id, "85"));
      join(made_.at(flyback, "A"), made_.at(id, "86"));
    }
    join(run(feed()), made_.at(id, "30"));
    rng_.chance(0.6) ? lamp(made_.at(id, "87"), ground()) : load(made_.at(id, "87"), ground());
    if (rng_.chance(0.5)) lamp(made_.at(id, "87a"), ground());
  }

  // What leads to the coil: straight, through a resistance that leaves it between drop-out and pull-in or near them,
  // through a button beside its own contact (it holds itself), or now and then through its own rest contact (it
  // buzzes).
  EndPoint coil_feed(PartId relay, const EndPoint& from) {
    const std::size_t way = rng_.below(10);
    if (way < 4) {
      const PartId drop = made_.part(PartKind::kResistor, next("R"), {{"ohm", rng_.log_uniform(10.0, 600.0)}}, false);
      return through(from, drop, "1", "2");
    }
    if (way < 7) {
      const EndPoint splice = made_.at(made_.splice("S" + std::to_string(made_.loom.splices.size())));
      join(through_switch(from, false), splice);
      join(made_.at(relay, "87"), splice);
      return splice;
    }
    if (way == 7 && rng_.chance(0.3)) return through_switch(made_.at(relay, "87a"), false);
    return from;
  }

  void diode(const EndPoint& from) {
    const PartId id = made_.part(PartKind::kDiode, next("D"), {{"ohm", rng_.log_uniform(0.02, 0.5)}});
    const bool forward = rng_.chance(0.8);
    const EndPoint out = through(from, id, forward ? "A" : "K", forward ? "K" : "A");
    rng_.chance(0.5) ? lamp(out, ground()) : load(out, ground());
  }

  // A two-wire sensor, wherever it stands.
  PartId sensor() {
    switch (rng_.below(4)) {
      case 0: {
        const PartId id =
            made_.part(PartKind::kSender, next("B"), {{"at", rng_.uniform(0.0, 100.0)}, {"at_tolerance", 5.0}});
        made_.loom.parts[id.index()].curve.points = {{0.0, 10.0}, {50.0, 80.0}, {100.0, 180.0}};
        return id;
      }
      case 1:
        return made_.part(PartKind::kNtc, next("B"),
                          {{"r25_ohm", 2044.0}, {"b_k", 3640.0}, {"at", rng_.uniform(-20.0, 110.0)}});
      case 2:
        return made_.part(PartKind::kPtc, next("B"),
                          {{"r25_ohm", 1000.0}, {"b_k", -700.0}, {"at", rng_.uniform(-20.0, 110.0)}});
      default:
        return made_.part(PartKind::kPotentiometer, next("B"),
                          {{"ohm", rng_.log_uniform(200.0, 10000.0)}, {"at", rng_.uniform()}});
    }
  }

  // A gauge: a resistance from the feed, then the sender to ground.
  void sender(const EndPoint& from) {
    const PartId gauge = made_.part(PartKind::kResistor, next("P"), {{"ohm", rng_.uniform(60.0, 300.0)}}, false);
    join(from, made_.at(gauge, "1"));
    sense(run(made_.at(gauge, "2")), ground());
  }

  void sense(const EndPoint& from, const EndPoint& to) {
    const PartId id = sensor();
    const bool pot = made_.loom.parts[id.index()].kind == PartKind::kPotentiometer;
    join(from, made_.at(id, pot ? "2" : "1"));
    join(to, made_.at(id, pot ? "3" : "2"));
    if (pot && rng_.chance(0.5)) join(feed(), made_.at(id, "1"));
  }

  // ---- modules
  // ------------------------------------------------------------------------------------------------------------

  std::size_t pin(ModuleId id, ModulePin made) {
    const std::string plug = rng_.chance(0.5) ? "A" : "B";
    return made_.pin(id, plug, std::to_string(made_.loom.modules[id.index()].pins.size() + 1), std::move(made));
  }
  std::size_t pin(ModuleId id, PinRole role) {
    ModulePin made;
    made.role = role;
    return pin(id, std::move(made));
  }

  void add_module() {
    const ModuleId id = made_.module("ECU" + std::to_string(made_.loom.modules.size()));
    made_.loom.modules[id.index()].frame = FrameId(0);
    add_module_supply(id);
    std::vector<std::size_t> inputs, returns, references;
    if (rng_.chance(0.7)) returns.push_back(pin(id, PinRole::kReturn));
    if (rng_.chance(0.6)) references.push_back(reference(id));
    for (std::size_t n = 1 + rng_.below(3); n > 0; --n) inputs.push_back(input(id, returns));
    if (!references.empty()) three_wires(id, references.front(), returns);
    for (std::size_t n = rng_.below(3); n > 0; --n) driver(id, inputs);
    if (rng_.chance(0.5)) bus_pair(id);
    if (rng_.chance(0.3)) join(run(made_.at(id, pin(id, PinRole::kUnknown))), rng_.chance(0.5) ? feed() : ground());
  }

  void add_module_supply(ModuleId id) {
    if (rng_.chance(0.85)) {
      ModulePin supply;
      supply.role = PinRole::kSupply;
      supply.draw_a = rng_.chance(0.7) ? rng_.log_uniform(0.02, 1.0) : 0.0;
      for (std::size_t n = 1 + rng_.below(2); n > 0; --n) {
        EndPoint at = run(feed());
        if (rng_.chance(0.6)) at = through_fuse(at);
        if (rng_.chance(0.3)) at = through_switch(at, true);
        join(at, made_.at(id, pin(id, supply)));
      }
    } else {
      made_.loom.modules[id.index()].powered_with = {setup()};
    }
    if (rng_.chance(0.85))
      for (std::size_t n = 1 + rng_.below(2); n > 0; --n) join(run(made_.at(id, pin(id, PinRole::kGround))), ground());
  }

  std::size_t reference(ModuleId id) {
    ModulePin made;
    made.role = PinRole::kReference;
    made.volt = rng_.chance(0.8) ? 5.0 : 8.0;
    made.ohm = rng_.chance(0.5) ? rng_.log_uniform(0.5, 20.0) : 0.0;
    return pin(id, made);
  }

  std::size_t input(ModuleId id, const std::vector<std::size_t>& returns) {
    ModulePin made;
    made.role = PinRole::kInput;
    if (rng_.chance(0.6)) made.pull_up_ohm = rng_.log_uniform(500.0, 50000.0);
    if (made.pull_up_ohm > 0.0 && rng_.chance(0.2)) made.pull_up_v = volts_ / 2.0;
    if (rng_.chance(0.3)) made.pull_down_ohm = rng_.log_uniform(1000.0, 100000.0);
    if (rng_.chance(0.3)) made.input_ohm = rng_.log_uniform(2.0e4, 2.0e6);
    const std::size_t index = pin(id, made);
    const EndPoint back = returns.empty() || rng_.chance(0.3) ? ground() : made_.at(id, returns.front());
    switch (rng_.below(4)) {
      case 0:
        join(through_switch(run(ground()), false), made_.at(id, index));
        break;
      case 1:
        join(through_switch(run(feed()), false), made_.at(id, index));
        break;
      default:
        sense(run(made_.at(id, index)), back);
    }
    return index;
  }

  // A sensor that shares out its supply, or a potentiometer, on the reference.
  void three_wires(ModuleId id, std::size_t reference, const std::vector<std::size_t>& returns) {
    ModulePin made;
    made.role = PinRole::kInput;
    made.pull_down_ohm = rng_.chance(0.5) ? 1.0e5 : 0.0;
    const std::size_t signal = pin(id, made);
    const EndPoint back = returns.empty() || rng_.chance(0.2) ? ground() : made_.at(id, returns.front());
    const bool active = rng_.chance(0.6);
    PartId sensor;
    if (active) {
      sensor = made_.part(PartKind::kThreeWireSensor, next("B"),
                          {{"at", rng_.uniform(0.0, 10.0)},
                           {"draw_a", rng_.chance(0.8) ? 0.005 : 0.0},
                           {"ohm", rng_.chance(0.8) ? 100.0 : 0.0}});
      made_.loom.parts[sensor.index()].curve.points = {{0.0, 0.1}, {10.0, 0.9}};
    } else {
      sensor = made_.part(PartKind::kPotentiometer, next("B"), {{"ohm", 5000.0}, {"at", rng_.uniform()}});
    }
    join(run(made_.at(id, reference)), made_.at(sensor, active ? "+" : "3"));
    join(run(back), made_.at(sensor, active ? "-" : "1"));
    join(run(made_.at(sensor, active ? "S" : "2")), made_.at(id, signal));
  }

  void driver(ModuleId id, const std::vector<std::size_t>& inputs) {
    const bool high = rng_.chance(0.6);
    ModulePin made;
    made.role = high ? PinRole::kHighSide : PinRole::kLowSide;
    if (rng_.chance(0.6)) made.limit_a = rng_.uniform(1.0, 15.0);
    if (rng_.chance(0.3)) made.ohm = rng_.log_uniform(0.01, 0.3);
    if (rng_.chance(0.5)) {
      made.on_with = {setup()};
    } else if (rng_.chance(0.9)) {
      const ModulePin& followed = made_.loom.modules[id.index()].pins[inputs[rng_.below(inputs.size())]];
      made.follows = followed.plug + ":" + followed.cavity;
      made.follows_v = rng_.chance(0.5) ? 2.5 : 0.0;
      made.follows_below = rng_.chance(0.5);
    }
    const EndPoint at = run(made_.at(id, pin(id, made)));
    const EndPoint other = high ? ground() : feed();
    if (rng_.chance(0.2)) {
      const PartId coil = made_.part(PartKind::kRelay, next("K"), {{"coil_ohm", rng_.uniform(60.0, 400.0)}});
      join(at, made_.at(coil, "85"));
      join(other, made_.at(coil, "86"));
      join(feed(), made_.at(coil, "30"));
      return load(made_.at(coil, "87"), ground());
    }
    rng_.chance(0.5) ? lamp(high ? at : other, high ? other : at) : load(high ? at : other, high ? other : at);
  }

  void bus_pair(ModuleId id) {
    const std::size_t high = pin(id, PinRole::kCanHigh);
    const std::size_t low = pin(id, PinRole::kCanLow);
    if (rng_.chance(0.6)) {
      circuit::ModuleInside inside;
      inside.pin_a = high;
      inside.pin_b = low;
      if (rng_.chance(0.3)) inside.kind = PartKind::kResistor;
      made_.loom.modules[id.index()].inside.push_back(inside);
    }
    if (rng_.chance(0.2)) {  // nothing at the far end
      join(run(made_.at(id, high)), any_bare());
      return join(run(made_.at(id, low)), any_bare());
    }
    const PartId far = made_.part(PartKind::kTerminator, next("T"));
    join(run(made_.at(id, high)), made_.at(far, "1"));
    join(run(made_.at(id, low)), made_.at(far, "2"));
  }

  void add_bundles() {
    const std::size_t bundles = 1 + rng_.below(3);
    for (circuit::Wire& wire : made_.loom.wires)
      if (rng_.chance(0.25)) wire.bundle = "bundle " + std::to_string(rng_.below(bundles));
  }

  base::Rng& rng_;
  circuit::test::LoomMaker made_;
  double volts_ = 24.0;
  std::vector<SetupId> setups_;
  std::vector<EndPoint> feeds_, grounds_;
  std::vector<ConnectorId> inlines_;
  int count_ = 0;
};

circuit::PointId any_point(base::Rng& rng, const circuit::Netlist& netlist) {
  return circuit::PointId(rng.below(netlist.points.size()));
}

}  // namespace

circuit::Loom make_random_loom(base::Rng& rng) { return Grower(rng).grow(); }

circuit::Configuration make_random_configuration(base::Rng& rng, const circuit::Loom& loom,
                                                 const circuit::Netlist& netlist) {
  circuit::Configuration made;
  for (std::size_t i = 0; i < loom.setups.size(); ++i)
    if (rng.chance(0.6)) made.made.insert(SetupId(i));
  const double apart = rng.chance(0.5) ? 0.0 : 0.1;
  for (std::size_t i = 0; i < loom.connectors.size(); ++i)
    if (rng.chance(apart)) made.unplugged.insert(ConnectorId(i));
  for (int i = 0; i < 2; ++i) {
    if (!rng.chance(0.12)) continue;
    circuit::Fitted fitted;
    fitted.a = any_point(rng, netlist);
    fitted.b = any_point(rng, netlist);
    if (fitted.b < fitted.a) std::swap(fitted.a, fitted.b);
    if (rng.chance(0.6)) {
      fitted.kind = circuit::Fitted::Kind::kStandIn;
      fitted.ohm = rng.log_uniform(1.0, 1.0e5);
    }
    if (fitted.a != fitted.b) made.fitted.insert(fitted);
  }
  for (std::size_t i = 0; i < loom.parts.size(); ++i)
    if (rng.chance(0.03)) made.swapped_parts.insert(PartId(i));
  for (std::size_t i = 0; i < loom.modules.size(); ++i)
    if (rng.chance(0.05)) made.swapped_modules.insert(ModuleId(i));
  return made;
}

Meter make_random_meter(base::Rng& rng, const circuit::Netlist& netlist) {
  using electrical::Instrument;
  constexpr Instrument kAll[] = {Instrument::kVolts, Instrument::kVolts, Instrument::kOhms, Instrument::kClamp,
                                 Instrument::kTestLamp};
  Meter meter;
  meter.instrument = kAll[rng.below(5)];
  meter.red = netlist.points[any_point(rng, netlist).index()].node;
  meter.black = rng.chance(0.5) ? netlist.reference : netlist.points[any_point(rng, netlist).index()].node;
  if (rng.chance(0.4)) {  // across one thing, as most tests are
    const circuit::Element& e = netlist.elements[rng.below(netlist.elements.size())];
    meter.red = e.a;
    meter.black = e.b;
  }
  meter.wire = netlist.wire_elements[rng.below(netlist.wire_elements.size())];
  return meter;
}

}  // namespace halfsplit::oracle
