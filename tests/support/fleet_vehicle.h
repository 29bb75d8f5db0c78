// SPDX-License-Identifier: Apache-2.0
// For fleet_loom.cpp: the vehicle as it grows. FleetVehicle is what all circuits share - supply, sections, ways through
// plugs, pins, grounds; FleetCircuits (fleet_circuits.cpp) adds one circuit of a kind to the newest section.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/rng.h"
#include "tests/support/loom_writer.h"

namespace halfsplit::test {

// Part of a vehicle with its own fuse box, controller and area.
struct FleetSection {
  std::string number;              // "7"
  std::string box, area;           // places
  std::string rail, switched;      // splices: always live, live with the key
  std::string module;              // controller
  std::vector<std::string> plugs;  // kinds of inline plug on the way to the area
  std::size_t pins = 0;            // used on the controller
  std::size_t circuits_left = 0;   // until the controller is full
  std::string back, reference;     // splices of sensor ground and sensor supply, once they are there
  bool has_rail = false;           // its pins name 5 V
};

class FleetVehicle {
 public:
  explicit FleetVehicle(std::uint64_t seed) : rng_(seed) {}

  void begin(std::uint64_t seed, std::size_t nodes);
  void open_section();
  void finish();  // closes the last bus, writes the setups

  [[nodiscard]] LoomWriter& sheet() { return sheet_; }
  [[nodiscard]] base::Rng& rng() { return rng_; }
  [[nodiscard]] FleetSection& section() { return sections_.back(); }
  [[nodiscard]] bool needs_section() const { return sections_.empty() || sections_.back().circuits_left == 0; }

  std::size_t count(const std::string& what) { return ++count_[what]; }
  // A new name: F1, F2, ...
  std::string next(const std::string& letter) { return letter + std::to_string(count(letter)); }
  // That setup opens or closes this switch.
  void moves(const std::string& setup, const std::string& part, bool closed);
  // A ground stud of the area with room for one more lug (eight at most).
  Hop ground(const std::string& area);
  // A new pin of the section's controller.
  Hop pin(const std::string& body);
  // The plugs between box and area, each with a fresh cavity; none in the cab.
  std::vector<Hop> way();
  // A fuse on a rail of the section's box, its outgoing end.
  Hop fuse(const std::string& run, const std::string& rail, double rating_a);
  // One wire after another between the hops: from, on the way, to.
  void lead(const std::string& run, const Hop& from, const Hop& to, double mm2);
  void join(const std::string& run, const Hop& from, const Hop& to, double mm2);
  std::string wire(double mm2);  // attributes of a wire of that size, random colour and length

 private:
  struct Plug {
    std::string name, kind;
    std::size_t used = 0;
  };
  struct Stud {
    std::string name;
    std::size_t lugs = 0;
  };

  void add_places();
  void add_setups();
  void add_supply();
  void add_area(const std::string& kind);
  void add_power(const std::string& number);
  void add_controller();
  void add_bus_node();
  void close_bus();
  std::string bundle(const std::string& lane);
  std::string power_post();
  std::string key_post();

  LoomWriter sheet_;
  base::Rng rng_;
  std::vector<FleetSection> sections_;
  std::map<std::string, std::size_t> count_;
  std::map<std::string, Plug> open_plugs_;       // by kind and area
  std::map<std::string, Stud> open_studs_;       // by area
  std::map<std::string, std::size_t> bundled_;   // wires by lane
  std::map<std::string, std::string> moved_;     // by setup: what it sets
  std::string post_, key_, bus_high_, bus_low_;  // the newest of each chain
  std::size_t post_used_ = 0, key_used_ = 0, bus_nodes_ = 0, buses_ = 0;
};

// Kinds of circuit; a deck of them is dealt so that every kind comes up again and again.
inline constexpr std::size_t kFleetCircuitKinds = 14;
void add_fleet_circuit(FleetVehicle& vehicle, std::size_t kind);

}  // namespace halfsplit::test
