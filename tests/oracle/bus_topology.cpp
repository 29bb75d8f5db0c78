// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/bus_topology.h"

#include <algorithm>
#include <array>

#include "base/rng.h"
#include "circuit/bus_kinds.h"
#include "circuit/test_loom.h"

namespace halfsplit::oracle {

namespace {

using circuit::BusKind;
using circuit::EndPoint;
using circuit::ModulePin;
using circuit::PartId;
using circuit::PartKind;
using circuit::PinRole;

constexpr double kContactOhm = 0.005, kJointOhm = 0.001, kInsideOhm = 0.001;
constexpr double kCopperOhm = 0.017241;  // mm2 per m, at 20 degC

// An end of a wire, in the loom and as a node of the plain circuit; splices, studs and bolted parts have a joint.
struct End {
  EndPoint point;
  std::string node, joint;  // joint: the name of what is bolted, empty: none
};

class Drawer {
 public:
  Drawer(std::uint64_t seed, bool for_edges) : rng_(seed * 7919 + 13), for_edges_(for_edges) {}

  BusTopology draw() {
    choose_kind();
    add_supply();
    add_backbone();
    for (std::size_t i = 0; i < count_; ++i) add_seat(i);
    if (two_) add_terminators();
    bundle_pairs();
    add_faults();
    finish();
    return std::move(bus_);
  }

 private:
  // ---- bones

  void choose_kind() {
    constexpr std::array<BusKind, 4> kOthers{BusKind::kCanFaultTolerant, BusKind::kCanSingleWire,
                                             BusKind::kTruckTrailer, BusKind::kLin};
    bus_.kind = for_edges_ || rng_.chance(0.6) ? BusKind::kCan : kOthers[rng_.below(4)];
    const circuit::BusKindRecord& record = circuit::bus_kind(bus_.kind);
    two_ = record.two_wires;
    count_ = bus_.kind == BusKind::kTruckTrailer ? 2 : 3 + rng_.below(10);
    circuit::Bus drawn;
    drawn.name = "B";
    drawn.kind = bus_.kind;
    drawn.bit_rate = bus_.kind == BusKind::kCan ? (rng_.chance(0.5) ? 250.0 : 500.0) : record.bit_rate;
    drawn.sample_percent = record.sample_percent;
    bus_.bit_rate = drawn.bit_rate;
    m_.loom.buses.push_back(drawn);
    key_ = m_.setup("key on");
    other_ = m_.setup("never made");
    bus_.state.made = {key_};
  }

  void plain(const std::string& name, const std::string& a, const std::string& b, double ohm) {
    bus_.resistors[name] = {a, b, ohm, 0.0, true, ""};
  }

  // A wire with what lies between its ends and what they end on; returns its name.
  std::string wire(const End& from, const End& to, double size_mm2, double metres, bool high = true) {
    m_.wire(from.point, to.point, size_mm2, metres);
    const std::string name = m_.loom.wires.back().name;
    const std::string a = from.joint.empty() ? from.node : name + ".a";
    const std::string b = to.joint.empty() ? to.node : name + ".b";
    if (!from.joint.empty()) plain(from.joint + " to " + name, a, from.node, kJointOhm);
    if (!to.joint.empty()) plain(to.joint + " to " + name, b, to.node, kJointOhm);
    bus_.resistors[name] = {a, b, kCopperOhm * metres / size_mm2, metres, high, ""};
    return name;
  }
  // The same on both lines of the bus, or on its one wire.
  void pair(const std::array<End, 2>& from, const std::array<End, 2>& to, double metres) {
    const double size = rng_.chance(0.5) ? 0.5 : 0.75;
    const std::string high = wire(from[0], to[0], size, metres, true);
    bus_.cable_m += metres;
    highs_.push_back(high);
    if (!two_) return;
    const std::string low = wire(from[1], to[1], size, metres, false);
    lows_.push_back(low);
    bus_.resistors[high].pair = low;
    bus_.resistors[low].pair = high;
  }

  End splice(const std::string& name) { return {m_.at(m_.splice(name)), name, name}; }
  End chassis() { return {m_.chassis(), "chassis", ""}; }
  // The loom side of a cavity, with the contact behind it.
  End cavity(circuit::ConnectorId plug, std::uint8_t side, const std::string& cavity) {
    const circuit::Connector& drawn = m_.loom.connectors[plug.index()];
    const bool inline_plug = drawn.part.is_none() && drawn.module.is_none();
    const std::string base = drawn.name + ":" + cavity;
    const std::string first = inline_plug ? base + "@" + drawn.sides[0] : base;
    const std::string second = base + "@" + drawn.sides[1];
    plain(base, first, second, kContactOhm);
    return {m_.at(plug, side, cavity), side == 0 ? first : second, ""};
  }

  void add_supply() {
    const PartId battery = m_.part(PartKind::kBattery, "BAT");
    m_.loom.supply = battery;
    const PartId isolator = m_.part(PartKind::kSwitch, "KEY", {}, false);
    m_.loom.setups[key_.index()].sets.emplace_back(isolator, true);
    feed_ = splice("SP");
    wire({m_.at(battery, "+"), "BAT:+", "BAT:+"}, {m_.at(isolator, "1"), "KEY:1", "KEY:1"}, 4.0, 2.0);
    wire({m_.at(isolator, "2"), "KEY:2", "KEY:2"}, feed_, 4.0, 2.0);
    wire({m_.at(battery, "-"), "BAT:-", "BAT:-"}, chassis(), 25.0, 0.5);
  }

  void add_backbone() {
    const std::size_t knots = 1 + rng_.below(count_);
    const std::size_t plug_after = rng_.chance(0.5) ? rng_.below(knots) : knots;
    for (std::size_t i = 0; i < knots; ++i) {
      const std::string number = std::to_string(i);
      knots_.push_back({splice("H" + number), two_ ? splice("L" + number) : End{}});
      if (i == 0) continue;
      if (i - 1 != plug_after) {
        pair(knots_[i - 1], knots_[i], rng_.uniform(0.3, 8.0));
        continue;
      }
      const circuit::ConnectorId plug = m_.plug("J", {"1", "2"});
      const std::array<End, 2> near{cavity(plug, 0, "1"), cavity(plug, 0, "2")};
      const std::array<End, 2> far{cavity(plug, 1, "1"), cavity(plug, 1, "2")};
      pair(knots_[i - 1], near, rng_.uniform(0.3, 8.0));
      pair(far, knots_[i], rng_.uniform(0.3, 8.0));
    }
  }

  // ---- modules

  void add_seat(std::size_t index) {
    PlainSeat seat;
    seat.name = "M" + std::to_string(index);
    const circuit::ModuleId id = m_.module(seat.name);
    seat.drawn = rng_.chance(0.4);
    seat.fed = rng_.chance(for_edges_ ? 0.97 : 0.9);
    if (seat.drawn) {
      add_drawn_supply(seat, id);
    } else {
      m_.loom.modules[id.index()].powered_with = {seat.fed ? key_ : other_};
    }
    const std::size_t ground = m_.pin(id, "2", PinRole::kGround);
    const End at_ground = module_end(id, ground);
    plain(seat.name + ":2 ground", unit(seat, "2"), seat.name + " g", kInsideOhm);
    grounds_.push_back(wire(at_ground, chassis(), 0.75, rng_.uniform(0.3, 6.0)));
    add_bus_pins(seat, id);
    bus_.seats.push_back(seat);
  }
  void add_drawn_supply(PlainSeat& seat, circuit::ModuleId id) {
    ModulePin pin;
    pin.role = PinRole::kSupply;
    pin.draw_a = rng_.uniform(0.05, 2.0);
    seat.draw_ohm = m_.loom.system_volts / pin.draw_a;
    const std::size_t supply = m_.pin(id, "", "1", pin);
    plain(seat.name + ":1 supply", unit(seat, "1"), seat.name + " s", kInsideOhm);
    const End end = module_end(id, supply);
    if (seat.fed) wire(feed_, end, 0.75, rng_.uniform(0.5, 8.0));
  }
  static std::string unit(const PlainSeat& seat, const std::string& cavity) {
    return seat.name + ":" + cavity + "@unit";
  }
  End module_end(circuit::ModuleId id, std::size_t pin) {
    const ModulePin& drawn = m_.loom.modules[id.index()].pins[pin];
    return cavity(drawn.connector, 0, drawn.cavity);
  }

  void add_bus_pins(PlainSeat& seat, circuit::ModuleId id) {
    ModulePin pin;
    pin.bus = circuit::BusId(0);
    seat.commander = bus_.kind == BusKind::kLin && bus_.seats.empty();
    pin.commander = seat.commander;
    if (bus_.kind == BusKind::kCan && rng_.chance(0.2)) pin.input_ohm = seat.input_ohm = rng_.uniform(6.0e3, 5.0e4);
    // On a LIN line that floats the gigohm of a load that blocks would decide: ngspice has no digits for it.
    const bool may_load = bus_.kind != BusKind::kLin || !seat.fed;
    if (rng_.chance(0.3) && may_load) pin.unpowered_ohm = seat.unpowered_ohm = rng_.log_uniform(20.0, 1.0e5);
    pin.role = two_ ? PinRole::kCanHigh : PinRole::kBusWire;
    std::array<End, 2> ends;
    ends[0] = module_end(id, m_.pin(id, "", "3", pin));
    pin.role = PinRole::kCanLow;
    if (two_) ends[1] = module_end(id, m_.pin(id, "", "4", pin));
    pair(knots_[rng_.below(knots_.size())], ends, rng_.uniform(0.2, 3.0));
  }

  // ---- terminators: none, one, two, three; as parts, split in two halves, inside a module

  void add_terminators() {
    if (bus_.kind != BusKind::kCan) return;
    const double luck = rng_.uniform();
    const std::size_t wanted = luck < 0.7 ? 2 : luck < 0.85 ? 1 : luck < 0.93 ? 3 : 0;
    for (std::size_t i = 0; i < wanted; ++i) {
      const std::array<End, 2>& knot = i == 0   ? knots_.front()
                                       : i == 1 ? knots_.back()
                                                : knots_[rng_.below(knots_.size())];
      const double luck_of_kind = rng_.uniform();
      if (luck_of_kind < 0.5) {
        add_part_terminator("T" + std::to_string(i), knot);
      } else if (luck_of_kind < 0.7) {
        add_split("T" + std::to_string(i), knot);
      } else {
        add_inside(rng_.below(count_));
      }
    }
    if (wanted == 0) bus_.class_ = "no terminator";
  }
  End terminal(PartId part, const std::string& name, const std::string& which) {
    return cavity(m_.loom.parts[part.index()].plug, 0, which.empty() ? name : which);
  }
  PartId terminator(const std::string& name, double ohm) {
    const PartId part = m_.part(PartKind::kTerminator, name, {{"ohm", ohm}});
    plain(name, name + ":1@unit", name + ":2@unit", ohm);
    parts_.push_back(name);
    return part;
  }
  void add_part_terminator(const std::string& name, const std::array<End, 2>& knot) {
    const PartId part = terminator(name, 120.0);
    const std::array<End, 2> ends{terminal(part, name, "1"), terminal(part, name, "2")};
    pair(knot, ends, rng_.uniform(0.1, 4.0));
  }
  void add_split(const std::string& name, const std::array<End, 2>& knot) {
    const PartId upper = terminator(name + "a", 60.0);
    const PartId lower = terminator(name + "b", 60.0);
    const std::array<End, 2> ends{terminal(upper, name, "1"), terminal(lower, name, "2")};
    pair(knot, ends, rng_.uniform(0.1, 2.0));
    wire(terminal(upper, name, "2"), terminal(lower, name, "1"), 0.5, 0.1);
  }
  void add_inside(std::size_t seat) {
    circuit::Module& module = m_.loom.modules[seat];
    if (!module.inside.empty()) return;
    circuit::ModuleInside inside;
    inside.pin_a = module.pins.size() - 2;
    inside.pin_b = module.pins.size() - 1;
    module.inside.push_back(inside);
    plain(module.name + " terminator", module.name + ":3@unit", module.name + ":4@unit", inside.ohm);
    parts_.push_back(module.name + " terminator");
  }

  void bundle_pairs() {
    for (std::size_t i = 0; i < lows_.size(); ++i)
      for (circuit::Wire& wire : m_.loom.wires)
        if (wire.name == highs_[i] || wire.name == lows_[i]) wire.bundle = "pair " + std::to_string(i);
  }

  // ---- faults, in both

  PlainResistor& at(const std::string& name) { return bus_.resistors.at(name); }
  void open(const std::string& name) { bus_.resistors.erase(name); }
  void between(const std::string& a, const std::string& b, double ohm) {
    plain("fault " + std::to_string(bus_.faults.size()), a, b, ohm);
  }
  void note(const std::string& name, double severity, const char* about) {
    bus_.faults.emplace_back(name, severity);
    if (bus_.class_.empty()) bus_.class_ = about;
  }
  // True when nothing has been done to it yet.
  bool fresh(const std::string& name) {
    if (name.empty() || !bus_.resistors.contains(name)) return false;
    if (std::find(touched_.begin(), touched_.end(), name) != touched_.end()) return false;
    touched_.push_back(name);
    return true;
  }
  std::string any_line() { return rng_.chance(0.5) || lows_.empty() ? any(highs_) : any(lows_); }
  std::string any(const std::vector<std::string>& names) {
    return names.empty() ? "" : names[rng_.below(names.size())];
  }

  void add_faults() {
    const std::size_t wanted = for_edges_ ? (rng_.chance(0.6) ? 1 : 0) : rng_.below(3);
    for (std::size_t i = 0; i < wanted; ++i) {
      const std::size_t kind = for_edges_ ? rng_.below(2) : rng_.below(9);
      if (kind < 4) {
        wire_fault(kind);
      } else if (kind == 4) {
        pair_fault();
      } else if (kind == 5) {
        terminator_fault();
      } else {
        module_fault(kind);
      }
    }
  }
  void wire_fault(std::size_t kind) {
    const std::string name = any_line();
    if (!fresh(name)) return;
    const PlainResistor drawn = at(name);
    const double severity = kind == 1 ? rng_.log_uniform(0.5, 2000.0) : rng_.log_uniform(0.01, 10.0);
    if (kind == 0) open(name), note(name + " open", 0.0, "open");
    if (kind == 1) at(name).ohm += severity, note(name + " high", severity, "high resistance");
    if (kind == 2) between(drawn.b, "chassis", severity), note(name + " to ground", severity, "short");
    if (kind == 3) between(drawn.b, "BAT:+", severity), note(name + " to supply", severity, "short");
  }
  void pair_fault() {
    const std::size_t i = rng_.below(highs_.size());
    const PlainSeat& seat = bus_.seats[rng_.below(bus_.seats.size())];
    const std::string high = seat.name + ":3", low = seat.name + ":4";
    const double luck = rng_.uniform();
    if (!two_) return;
    if (luck < 0.4 && fresh(highs_[i])) {
      const double severity = rng_.log_uniform(0.01, 10.0);
      if (!bus_.resistors.contains(lows_[i])) return;
      between(at(highs_[i]).b, at(lows_[i]).b, severity);
      note(highs_[i] + "+" + lows_[i] + " touch", severity, "short");
    } else if (luck < 0.7 && fresh(high)) {
      const double severity = rng_.log_uniform(100.0, 1.0e5);
      between(at(high).a, at(low).a, severity);
      note(high + "+4 water", severity, "water");
    } else if (luck >= 0.7 && fresh(high)) {
      const PlainResistor one = at(high), two = at(low);
      at(high).b = two.b, at(low).b = one.b;
      note(high + "+4 swapped", 0.0, "swapped");
    }
  }
  void terminator_fault() {
    const std::string name = any(parts_);
    if (!fresh(name)) return;
    if (rng_.chance(0.5)) {
      open(name), note(name + " missing", 0.0, "terminator missing");
    } else if (name == first_whole()) {  // of several between two lines the first is named
      between(at(name).a, at(name).b, at(name).ohm), note(name + " doubled", at(name).ohm, "terminator doubled");
    }
  }
  // Parts come before what sits inside modules.
  [[nodiscard]] std::string first_whole() const {
    for (const std::string& name : parts_)
      if (name.front() == 'T' && name.size() == 2) return name;
    return "";
  }
  void module_fault(std::size_t kind) {
    PlainSeat& seat = bus_.seats[rng_.below(bus_.seats.size())];
    if (!fresh(seat.name + ":2 ground")) return;
    // LIN's pull-up is then exactly at its knee over an island of its own: on or off, and both are right.
    if (kind == 6 && bus_.kind == BusKind::kLin && !seat.drawn) return;
    if (kind == 6) {
      open(seat.name + ":2 ground"), note(seat.name + ":2 ground open inside", 0.0, "no ground");
    } else if (kind == 7) {
      seat.dead = true, note(seat.name + " dead", 0.0, "unpowered");
    } else if (rng_.chance(0.5)) {
      seat.holds = true, note(seat.name + " B holds the bus", 0.0, "held");
    } else {
      seat.mute = true, note(seat.name + " B mute", 0.0, "mute");
    }
  }

  void finish() {
    if (bus_.class_.empty()) bus_.class_ = "sound";
    bus_.about = std::string(circuit::bus_kind(bus_.kind).word) + " of " + std::to_string(count_) + ", ";
    bus_.about += bus_.class_;
    for (const auto& [name, severity] : bus_.faults) bus_.about += ", " + name + " " + std::to_string(severity);
    bus_.loom = std::move(m_.loom);
  }

  base::Rng rng_;
  bool for_edges_;
  circuit::test::LoomMaker m_;
  BusTopology bus_;
  bool two_ = true;
  std::size_t count_ = 0;
  circuit::SetupId key_, other_;
  End feed_;
  std::vector<std::array<End, 2>> knots_;
  std::vector<std::string> highs_, lows_, grounds_, parts_, touched_;
};

}  // namespace

BusTopology random_bus(std::uint64_t seed) { return Drawer(seed, false).draw(); }
BusTopology random_bus_for_edges(std::uint64_t seed) { return Drawer(seed, true).draw(); }

}  // namespace halfsplit::oracle
