// SPDX-License-Identifier: Apache-2.0
// A bus in ngspice: levels at every seat as docs/formats/buses.md defines them, and edges with the cable's resistance
// and capacitance spread along every wire. Units: V, A, s.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "circuit/bus_kinds.h"
#include "tests/oracle/bus_topology.h"
#include "tests/oracle/ngspice.h"

namespace halfsplit::oracle {

// As predict::BusLevels, by seat; the drawn reader is none of them.
struct DeckLevels {
  std::size_t seats = 0;
  std::vector<double> rest_high, rest_low;
  std::vector<double> driven_high, driven_low;  // [sender * seats + receiver]; of senders that take part
  std::vector<double> tau_s;
};

class BusDeck {
 public:
  BusDeck(Ngspice& spice, const BusTopology& bus);

  // Settles which modules live, from power-up, the key on or off. False: ngspice found no answer, or there is no rest.
  [[nodiscard]] bool settle(bool key_on = true);
  [[nodiscard]] bool takes_part(std::size_t seat) const { return alive_[seat] != 0 && !bus_.seats[seat].mute; }
  [[nodiscard]] bool alive(std::size_t seat) const { return alive_[seat] != 0; }
  // In one way of reading.
  [[nodiscard]] std::optional<DeckLevels> levels(const circuit::BusReading& reading);
  // Ohms between two nodes with this state, as a meter puts 0.6 V / top into them.
  [[nodiscard]] std::optional<double> ohms(const std::string& red, const std::string& black, double ampere);
  // V(high) - V(low) by time and seat, so many seconds after this sender lets go, having driven for long.
  [[nodiscard]] std::optional<std::vector<std::vector<double>>> after_edge(std::size_t sender,
                                                                           const std::vector<double>& times_s);

  [[nodiscard]] const std::vector<std::string>& lines() const { return lines_; }

 private:
  void write(const circuit::BusReading* reading, bool spread_cable);
  void write_sources();
  void write_cable(const std::string& name, const PlainResistor& wire);
  void write_module(std::size_t seat, const circuit::BusReading* reading);
  void write_line(std::size_t seat, bool high, const circuit::BusReading* reading);
  void write_drivers(std::size_t seat);
  void write_switches(std::size_t sender);
  void write_node_farads();
  std::string rail(std::size_t seat, double volts);
  void tie_islands(bool in_time = false);
  // Device names; a and b are names of the topology. What joins two nodes joins their islands.
  void resistor(const std::string& name, const std::string& a, const std::string& b, double ohm);
  void volts_behind(const std::string& name, const std::string& a, const std::string& b, double volts, double ohm);
  [[nodiscard]] std::string node(const std::string& name);
  void join(const std::string& a, const std::string& b);
  [[nodiscard]] std::size_t island(const std::string& name);
  [[nodiscard]] std::string pin(std::size_t seat, bool high) const;
  [[nodiscard]] double across(const std::string& red, const std::string& black);  // 0 between islands
  [[nodiscard]] double line(std::size_t seat, bool high) { return across(pin(seat, high), ground(seat)); }
  [[nodiscard]] std::string ground(std::size_t seat) const { return bus_.seats[seat].name + " g"; }
  [[nodiscard]] double rest_ohm(std::size_t seat, const circuit::BusLine& line) const;
  [[nodiscard]] double farad() const;
  [[nodiscard]] bool turn_diodes();
  [[nodiscard]] bool drive(const circuit::BusReading& reading, DeckLevels& levels);
  [[nodiscard]] bool time_constants(const circuit::BusReading& reading, DeckLevels& levels);

  Ngspice& spice_;
  const BusTopology& bus_;
  const circuit::BusKindRecord& kind_;
  bool key_on_ = true;
  std::vector<char> alive_, pulls_;  // by seat: its module lives; its LIN diode conducts
  std::vector<std::string> lines_;
  std::map<std::string, std::size_t> nodes_;
  std::vector<std::size_t> joined_;
  std::size_t count_ = 0;  // of pieces of cable
};

}  // namespace halfsplit::oracle
