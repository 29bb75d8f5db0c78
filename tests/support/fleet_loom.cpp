// SPDX-License-Identifier: Apache-2.0
#include "tests/support/fleet_loom.h"

#include <array>
#include <numeric>
#include <utility>

#include "tests/support/fleet_vehicle.h"

namespace halfsplit::test {

namespace {

// Kinds of circuit in a random order, dealt until it is empty, then shuffled anew.
class Deck {
 public:
  std::size_t deal(base::Rng& rng) {
    if (left_ == 0) {
      std::iota(kinds_.begin(), kinds_.end(), std::size_t{0});
      left_ = kinds_.size();
    }
    std::swap(kinds_[rng.below(left_)], kinds_[left_ - 1]);
    return kinds_[--left_];
  }

 private:
  std::array<std::size_t, kFleetCircuitKinds> kinds_{};
  std::size_t left_ = 0;
};

}  // namespace

std::string make_fleet_loom(std::size_t nodes, std::uint64_t seed) {
  FleetVehicle vehicle(seed);
  vehicle.begin(seed, nodes);
  Deck deck;
  while (vehicle.sheet().nodes() < nodes) {
    if (vehicle.needs_section()) vehicle.open_section();
    add_fleet_circuit(vehicle, deck.deal(vehicle.rng()));
  }
  vehicle.finish();
  return vehicle.sheet().text();
}

base::Result<ExampleLoom> load_fleet_loom(std::size_t nodes, std::uint64_t seed) {
  base::Result<circuit::Loom> loom = formats::read_loom_text("fleet.loom.toml", make_fleet_loom(nodes, seed));
  if (!loom.ok()) return loom.diagnostics();
  ExampleLoom example;
  example.loom = std::move(loom).value();
  example.netlist = circuit::build_netlist(example.loom);
  example.universe = fault::make_universe(example.loom, example.netlist);
  return example;
}

}  // namespace halfsplit::test
