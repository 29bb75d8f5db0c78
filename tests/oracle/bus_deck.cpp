// SPDX-License-Identifier: Apache-2.0
// One circuit is loaded for each way of reading; a sender drives when its two resistors, a million megohms before, are
// altered to the driven ohm. Islands that no source ties to ground hang on it by one 0 V source each.
#include "tests/oracle/bus_deck.h"

#include <algorithm>
#include <cstdio>
#include <set>

namespace halfsplit::oracle {

namespace {

using circuit::BusKind;
using circuit::BusLine;
using circuit::BusReading;

constexpr double kRailOhm = 0.001, kOffOhm = 1.0e4, kLetGoOhm = 1.0e12, kTestA = 1.0e-3;
constexpr double kPieceM = 1.0;  // of cable, each with its own resistance and capacitance

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%.15g", value);
  return text;
}

}  // namespace

BusDeck::BusDeck(Ngspice& spice, const BusTopology& bus)
    : spice_(spice),
      bus_(bus),
      kind_(circuit::bus_kind(bus.kind)),
      alive_(bus.seats.size(), 0),
      pulls_(bus.seats.size(), 0) {}

// ---- writing

std::string BusDeck::node(const std::string& name) {
  const auto [found, is_new] = nodes_.emplace(name, nodes_.size());
  if (is_new) joined_.push_back(found->second);
  return "n" + std::to_string(found->second);
}

std::size_t BusDeck::island(const std::string& name) {
  std::size_t at = nodes_.at(name);
  while (joined_[at] != at) at = joined_[at] = joined_[joined_[at]];
  return at;
}

void BusDeck::join(const std::string& a, const std::string& b) {
  (void)node(a), (void)node(b);
  joined_[island(a)] = island(b);
}

void BusDeck::resistor(const std::string& name, const std::string& a, const std::string& b, double ohm) {
  join(a, b);
  lines_.push_back("r" + name + " " + node(a) + " " + node(b) + " " + number(ohm));
}

void BusDeck::volts_behind(const std::string& name, const std::string& a, const std::string& b, double volts,
                           double ohm) {
  const std::string between = name + " between";
  resistor(name, a, between, ohm);
  join(between, b);
  lines_.push_back("v" + name + " " + node(between) + " " + node(b) + " " + number(volts));
}

void BusDeck::write(const BusReading* reading, bool spread_cable) {
  lines_ = {"a bus"};
  nodes_.clear(), joined_.clear();
  count_ = 0;
  for (const auto& [name, r] : bus_.resistors) {
    if (spread_cable && r.metres > 0.0 && !r.pair.empty()) {
      write_cable(name, r);
    } else {
      resistor("x" + std::to_string(count_++), r.a, r.b, r.ohm);
    }
  }
  write_sources();
  for (std::size_t i = 0; i < bus_.seats.size(); ++i) write_module(i, reading);
}

// Pieces in series; the high wire's knots have the cable's capacitance to those of the low one, at the same places. A
// wire without its partner has it to the chassis.
void BusDeck::write_cable(const std::string& name, const PlainResistor& wire) {
  const auto pieces = static_cast<std::size_t>(std::max(1.0, wire.metres / kPieceM));
  const bool together = bus_.resistors.contains(wire.pair);
  const auto knot = [&](const std::string& of, std::size_t at) { return of + " knot " + std::to_string(at); };
  for (std::size_t i = 0; i < pieces; ++i) {
    const std::string from = i == 0 ? wire.a : knot(name, i), to = i + 1 == pieces ? wire.b : knot(name, i + 1);
    resistor("p" + std::to_string(count_++), from, to, wire.ohm / static_cast<double>(pieces));
    if (together && !wire.high) continue;
    const PlainResistor& partner = together ? bus_.resistors.at(wire.pair) : wire;
    const std::string other = !together ? "chassis" : i + 1 == pieces ? partner.b : knot(wire.pair, i + 1);
    const double farad = kind_.cable_farad_per_m * wire.metres / static_cast<double>(pieces);
    lines_.push_back("c" + std::to_string(count_) + " " + node(to) + " " + node(other) + " " + number(farad));
  }
}

void BusDeck::write_sources() {
  volts_behind("battery", "BAT:+", "BAT:-", 1.05 * bus_.loom.system_volts, 0.01);
  if (key_on_) resistor("key", "KEY:1", "KEY:2", 0.01);
  for (std::size_t i = 0; i < bus_.seats.size(); ++i) {
    const PlainSeat& seat = bus_.seats[i];
    const std::string number_of = std::to_string(i);
    if (seat.draw_ohm > 0.0) resistor("draw" + number_of, seat.name + " s", ground(i), seat.draw_ohm);
    if (!seat.drawn && seat.fed && key_on_)
      volts_behind("fed" + number_of, seat.name + " s", ground(i), bus_.loom.system_volts, 0.05);
  }
}

std::string BusDeck::pin(std::size_t seat, bool high) const {
  return bus_.seats[seat].name + (high ? ":3@unit" : ":4@unit");
}

double BusDeck::rest_ohm(std::size_t seat, const BusLine& line) const {
  const PlainSeat& drawn = bus_.seats[seat];
  if (drawn.input_ohm > 0.0) return drawn.input_ohm;
  if (bus_.kind == BusKind::kCanFaultTolerant)
    return std::clamp(100.0 * static_cast<double>(bus_.seats.size()), 500.0, 16000.0);
  if (bus_.kind == BusKind::kLin) return drawn.commander ? 1000.0 : 30000.0;
  return line.rest_ohm;
}

// The node of a rail, made when it is first asked for.
std::string BusDeck::rail(std::size_t seat, double volts) {
  const std::string name = bus_.seats[seat].name + " rail " + number(volts);
  if (nodes_.contains(name)) return name;
  const std::string device = "rail" + std::to_string(seat) + "x" + std::to_string(nodes_.size());
  if (alive_[seat] != 0) {
    volts_behind(device, name, ground(seat), volts, kRailOhm);
  } else {
    resistor(device, name, ground(seat), kOffOhm);
  }
  return name;
}

void BusDeck::write_module(std::size_t seat, const BusReading* reading) {
  write_line(seat, true, reading);
  if (kind_.two_wires) write_line(seat, false, reading);
}

void BusDeck::write_line(std::size_t seat, bool high, const BusReading* reading) {
  const BusLine& line = high ? kind_.high : kind_.low;
  const PlainSeat& drawn = bus_.seats[seat];
  const std::string device = std::to_string(seat) + (high ? "h" : "l");
  const std::string at = pin(seat, high);
  const bool rests = reading == nullptr || (high ? reading->rests_high : reading->rests_low);
  (void)node(at), (void)node(ground(seat));
  if (bus_.kind == BusKind::kLin) {
    if (pulls_[seat] != 0) {
      volts_behind("diode" + device, drawn.name + " s", drawn.name + " pulled", 0.7, 1.0);
      resistor("rest" + device, drawn.name + " pulled", at, rest_ohm(seat, line));
    }
  } else if (rests) {
    resistor("rest" + device, rail(seat, line.rest_v), at, rest_ohm(seat, line));
  }
  if (drawn.unpowered_ohm > 0.0 && alive_[seat] == 0) resistor("load" + device, at, ground(seat), drawn.unpowered_ohm);
  if (drawn.unpowered_ohm > 0.0 && alive_[seat] != 0)
    volts_behind("load" + device, at, ground(seat), circuit::bus_volts(kind_, line.rest_v, bus_.loom.system_volts),
                 1.0e9);
  if (drawn.holds) resistor("held" + device, rail(seat, line.drive_v), at, line.drive_ohm);
}

void BusDeck::write_drivers(std::size_t seat) {
  if (!takes_part(seat)) return;
  resistor("drive" + std::to_string(seat) + "h", rail(seat, kind_.high.drive_v), pin(seat, true), kLetGoOhm);
  if (kind_.two_wires)
    resistor("drive" + std::to_string(seat) + "l", rail(seat, kind_.low.drive_v), pin(seat, false), kLetGoOhm);
}

void BusDeck::tie_islands(bool in_time) {
  std::set<std::size_t> tied;
  std::size_t tie = 0;
  std::vector<std::string> names{"chassis"};
  for (const auto& [name, at] : nodes_) names.push_back(name);
  for (const std::string& name : names) {
    const std::string at = node(name);
    if (tied.insert(island(name)).second) lines_.push_back("vtie" + std::to_string(tie++) + " " + at + " 0 0");
  }
  // In time, digits cost steps.
  lines_.emplace_back(in_time ? ".options reltol=1e-4 abstol=1e-9 vntol=1e-5 method=gear"
                              : ".options reltol=1e-9 abstol=1e-15 vntol=1e-12");
}

double BusDeck::across(const std::string& red, const std::string& black) {
  if (!nodes_.contains(red) || !nodes_.contains(black) || island(red) != island(black)) return 0.0;
  return spice_.volts(node(red)) - spice_.volts(node(black));
}

// ---- states

bool BusDeck::settle(bool key_on) {
  key_on_ = key_on;
  std::fill(alive_.begin(), alive_.end(), 0);
  std::fill(pulls_.begin(), pulls_.end(), 0);
  for (int round = 0; round < 60; ++round) {
    write(nullptr, false);
    tie_islands();
    if (!spice_.run(lines_)) return false;
    if (turn_diodes()) continue;
    std::vector<char> now(alive_.size(), 0);
    for (std::size_t i = 0; i < now.size(); ++i) {
      const PlainSeat& seat = bus_.seats[i];
      const double fed = nodes_.contains(seat.name + " s") ? across(seat.name + " s", ground(i)) : 0.0;
      now[i] = !seat.dead && fed >= 0.625 * bus_.loom.system_volts ? 1 : 0;
    }
    if (now == alive_) return true;
    alive_ = now;
  }
  return false;
}

// LIN's pull-up diodes, of those that stand wrong the worst one alone: true when one turned. Islands that nothing ties
// to the chassis count as at its potential.
bool BusDeck::turn_diodes() {
  if (bus_.kind != BusKind::kLin) return false;
  std::size_t worst = pulls_.size();
  double most = 1.0e-6;  // volts; less is what digits leave of a diode between two equal supplies
  for (std::size_t i = 0; i < pulls_.size(); ++i) {
    const double backwards = pulls_[i] != 0 ? spice_.amperes("vdiode" + std::to_string(i) + "h") : 0.0;
    const auto at = [&](const std::string& name) { return nodes_.contains(name) ? spice_.volts(node(name)) : 0.0; };
    const double over = pulls_[i] != 0 ? 0.0 : at(bus_.seats[i].name + " s") - at(pin(i, true)) - 0.7;
    const double wrong = std::max(-backwards * rest_ohm(i, kind_.high), over);
    if (wrong > most) most = wrong, worst = i;
  }
  if (worst == pulls_.size()) return false;
  pulls_[worst] = pulls_[worst] != 0 ? 0 : 1;
  return true;
}

// ---- levels

bool BusDeck::drive(const BusReading& reading, DeckLevels& levels) {
  for (std::size_t s = 0; s < levels.seats; ++s) {
    if (!takes_part(s)) continue;
    const std::string device = "rdrive" + std::to_string(s);
    if (reading.drives_high) spice_.alter(device + "h", kind_.high.drive_ohm);
    if (kind_.two_wires && reading.drives_low) spice_.alter(device + "l", kind_.low.drive_ohm);
    if (!spice_.solve(true)) return false;
    for (std::size_t r = 0; r < levels.seats; ++r) {
      levels.driven_high[s * levels.seats + r] = line(r, true);
      if (kind_.two_wires) levels.driven_low[s * levels.seats + r] = line(r, false);
    }
    if (reading.drives_high) spice_.alter(device + "h", kLetGoOhm);
    if (kind_.two_wires && reading.drives_low) spice_.alter(device + "l", kLetGoOhm);
  }
  return true;
}

double BusDeck::farad() const {
  return kind_.node_farad + kind_.cable_farad_per_m * bus_.cable_m / static_cast<double>(bus_.seats.size());
}

// One milliampere into every seat at once: what the page sums over K.
bool BusDeck::time_constants(const BusReading& reading, DeckLevels& levels) {
  const auto y = [&](std::size_t r) {
    if (!kind_.two_wires) return line(r, true);
    return (reading.drives_high ? line(r, true) : 0.0) - (reading.drives_low ? line(r, false) : 0.0);
  };
  if (!spice_.solve(true)) return false;
  std::vector<double> before;
  for (std::size_t r = 0; r < levels.seats; ++r) before.push_back(y(r));
  for (std::size_t k = 0; k < levels.seats; ++k) spice_.alter("itest" + std::to_string(k), kTestA);
  if (!spice_.solve(true)) return false;
  for (std::size_t r = 0; r < levels.seats; ++r) {
    const double sign = reading.drives_high || !kind_.two_wires ? 1.0 : -1.0;
    levels.tau_s.push_back(std::max(0.0, sign * (y(r) - before[r]) / kTestA * farad()));
  }
  return true;
}

std::optional<DeckLevels> BusDeck::levels(const BusReading& reading) {
  DeckLevels levels;
  const std::size_t n = levels.seats = bus_.seats.size();
  levels.driven_high.resize(n * n), levels.driven_low.resize(n * n);
  std::vector<char> pulls_when_driven(n, 0);
  write(&reading, false);
  tie_islands();
  if (!spice_.run(lines_)) return std::nullopt;
  for (std::size_t r = 0; r < n; ++r) {
    levels.rest_high.push_back(line(r, true));
    levels.rest_low.push_back(kind_.two_wires ? line(r, false) : 0.0);
    const std::string supply = bus_.seats[r].name + " s";
    pulls_when_driven[r] = nodes_.contains(supply) && across(supply, "BAT:-") > bus_.loom.system_volts / 2.0 ? 1 : 0;
  }
  write(&reading, false);
  for (std::size_t i = 0; i < n; ++i) {
    if (bus_.kind == BusKind::kLin && pulls_when_driven[i] != 0 && pulls_[i] == 0)
      volts_behind("pull" + std::to_string(i), bus_.seats[i].name + " s", pin(i, true), 0.7,
                   rest_ohm(i, kind_.high) + 1.0);
    write_drivers(i);
  }
  for (std::size_t i = 0; i < n; ++i) {
    const bool two = kind_.two_wires && reading.drives_high && reading.drives_low;
    const std::string from = two ? pin(i, false) : ground(i);
    const std::string into = pin(i, reading.drives_high || !kind_.two_wires);
    const std::string back = island(from) == island(into) ? from : into;  // no current crosses where there is no way
    lines_.push_back("itest" + std::to_string(i) + " " + node(back) + " " + node(into) + " 0");
  }
  tie_islands();
  const bool done = spice_.load(lines_) && drive(reading, levels) && time_constants(reading, levels);
  spice_.forget();
  return done ? std::optional(levels) : std::nullopt;
}

std::optional<double> BusDeck::ohms(const std::string& red, const std::string& black, double ampere) {
  write(nullptr, false);
  lines_.push_back("imeter " + node(black) + " " + node(red) + " " + number(ampere));
  const bool together = island(red) == island(black);
  tie_islands();
  if (!together || !spice_.run(lines_)) return std::nullopt;
  return across(red, black) / ampere;
}

// ---- edges

void BusDeck::write_switches(std::size_t sender) {
  lines_.emplace_back("vgate gate 0 pulse(1 0 0 1n 1n 1 2)");
  for (const bool high : {true, false}) {
    const BusLine& line = high ? kind_.high : kind_.low;
    const std::string at = rail(sender, line.drive_v);
    join(at, pin(sender, high));
    lines_.push_back(std::string("sdrive") + (high ? "h " : "l ") + node(at) + " " + node(pin(sender, high)) +
                     " gate 0 driver");
  }
  lines_.push_back(".model driver sw(vt=0.5 vh=0 ron=" + number(kind_.high.drive_ohm) + " roff=1e12)");
}

void BusDeck::write_node_farads() {
  for (std::size_t i = 0; i < bus_.seats.size(); ++i)
    lines_.push_back("cnode" + std::to_string(i) + " " + node(pin(i, true)) + " " + node(pin(i, false)) + " " +
                     number(kind_.node_farad));
}

std::optional<std::vector<std::vector<double>>> BusDeck::after_edge(std::size_t sender,
                                                                    const std::vector<double>& times_s) {
  write(nullptr, true);
  write_node_farads();
  write_switches(sender);
  tie_islands(true);
  std::vector<std::vector<double>> read;
  const auto look = [&](std::size_t) {
    read.emplace_back();
    for (std::size_t r = 0; r < bus_.seats.size(); ++r) read.back().push_back(line(r, true) - line(r, false));
  };
  if (!spice_.run_in_time(lines_, times_s, times_s.back() / 200.0, look)) return std::nullopt;
  return read;
}

}  // namespace halfsplit::oracle
