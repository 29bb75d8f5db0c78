// SPDX-License-Identifier: Apache-2.0
#include "tests/bus_twin/fault_classes.h"

#include <algorithm>

namespace halfsplit::bus_twin {

namespace {

using can::Hearing;

Hearing any_bus(base::Rng& rng) { return healthy(3 + rng.below(4)); }
std::size_t any_node(const Hearing& bus, base::Rng& rng) { return rng.below(bus.nodes); }

void cut(Hearing& bus, std::size_t sender, std::size_t receiver) { bus.dominant[sender * bus.nodes + receiver] = 0; }
void slow(Hearing& bus, std::size_t sender, std::size_t receiver) { bus.returns[sender * bus.nodes + receiver] = 0; }

template <class Act>
void with_others(Hearing& bus, std::size_t one, Act act) {
  for (std::size_t k = 0; k < bus.nodes; ++k) {
    if (k != one) act(k);
  }
}

Hearing split(Hearing bus, std::size_t first_block) {
  for (std::size_t a = 0; a < bus.nodes; ++a) {
    for (std::size_t b = 0; b < bus.nodes; ++b) {
      if ((a < first_block) != (b < first_block)) cut(bus, a, b);
    }
  }
  return bus;
}

Hearing node_away(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  bus.takes_part[any_node(bus, rng)] = 0;
  return bus;
}

Hearing alone(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  with_others(bus, one, [&](std::size_t k) {
    cut(bus, one, k);
    cut(bus, k, one);
  });
  return bus;
}

Hearing two_blocks(base::Rng& rng) {
  Hearing bus = healthy(4 + rng.below(3));
  const std::size_t first = 2 + rng.below(bus.nodes - 3);
  return split(std::move(bus), first);
}

Hearing two_and_one(base::Rng&) { return split(healthy(3), 2); }

Hearing unheard(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  with_others(bus, one, [&](std::size_t k) { cut(bus, one, k); });
  return bus;
}

Hearing deaf_talker(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  with_others(bus, one, [&](std::size_t k) { cut(bus, k, one); });
  return bus;
}

// By one that cannot send, and would spoil what the others say to one another if it were not talked over.
Hearing deaf_talker_read_by_one(base::Rng& rng) {
  Hearing bus = healthy(4 + rng.below(3));
  const std::size_t deaf = any_node(bus, rng);
  const std::size_t reader = (deaf + 1) % bus.nodes;
  with_others(bus, deaf, [&](std::size_t k) {
    cut(bus, k, deaf);
    if (k != reader) cut(bus, deaf, k);
  });
  slow(bus, reader, reader);
  return bus;
}

Hearing held_down(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  bus.rests[any_node(bus, rng)] = 0;
  return bus;
}

Hearing all_held_down(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  std::fill(bus.rests.begin(), bus.rests.end(), static_cast<char>(0));
  return bus;
}

Hearing cannot_send(base::Rng& rng) {  // its transmitter is dead
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  for (std::size_t k = 0; k < bus.nodes; ++k) cut(bus, one, k);
  return bus;
}

Hearing reads_not_itself(base::Rng& rng) {  // others do
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  cut(bus, one, one);
  return bus;
}

Hearing babbler(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  bus.babbles[any_node(bus, rng)] = 1;
  return bus;
}

Hearing shorted(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  std::fill(bus.dominant.begin(), bus.dominant.end(), static_cast<char>(0));
  return bus;
}

Hearing slow_at_one(base::Rng& rng) {  // for all, itself too
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  for (std::size_t k = 0; k < bus.nodes; ++k) slow(bus, k, one);
  return bus;
}

Hearing slow_at_all(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  std::fill(bus.returns.begin(), bus.returns.end(), static_cast<char>(0));
  return bus;
}

Hearing slow_at_one_for_others(base::Rng& rng) {
  Hearing bus = healthy(4 + rng.below(3));
  const std::size_t one = any_node(bus, rng);
  with_others(bus, one, [&](std::size_t k) { slow(bus, k, one); });
  return bus;
}

Hearing slow_at_one_for_itself(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  slow(bus, one, one);
  return bus;
}

Hearing slow_at_one_for_one(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  slow(bus, (one + 1) % bus.nodes, one);
  return bus;
}

Hearing one_misses_one(base::Rng& rng) {  // hears the acknowledgement, not the message
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  cut(bus, (one + 1) % bus.nodes, one);
  return bus;
}

Hearing two_miss_each_other(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const std::size_t one = any_node(bus, rng);
  cut(bus, (one + 1) % bus.nodes, one);
  cut(bus, one, (one + 1) % bus.nodes);
  return bus;
}

Hearing one_way_blocks(base::Rng& rng) {
  Hearing bus = healthy(4 + rng.below(3));
  const std::size_t first = 2 + rng.below(bus.nodes - 3);
  for (std::size_t a = 0; a < first; ++a) {
    for (std::size_t b = first; b < bus.nodes; ++b) cut(bus, a, b);
  }
  return bus;
}

// Strong and weak senders, sharp and dull readers, quick and slow ones: one threshold over sums, as levels do it.
Hearing random_levels(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const double level = rng.uniform(0.0, 2.5);
  std::vector<double> strong, sharp, quick;
  for (std::size_t k = 0; k < bus.nodes; ++k) {
    strong.push_back(rng.normal());
    sharp.push_back(rng.normal());
    quick.push_back(rng.normal());
  }
  for (std::size_t s = 0; s < bus.nodes; ++s) {
    for (std::size_t r = 0; r < bus.nodes; ++r) {
      const double own = s == r ? 1.5 : 0.0;
      if (level + own + strong[s] + sharp[r] < 0.0) cut(bus, s, r);
      if (level + quick[r] + 0.5 * rng.normal() < -0.5) slow(bus, s, r);
    }
  }
  return bus;
}

Hearing random_links(base::Rng& rng) {
  Hearing bus = any_bus(rng);
  const double missing = rng.uniform(0.05, 0.5);
  const double slow_share = rng.chance(0.5) ? rng.uniform() : 0.0;
  for (std::size_t s = 0; s < bus.nodes; ++s) {
    with_others(bus, s, [&](std::size_t r) {
      if (!rng.chance(missing)) return;
      rng.chance(slow_share) ? slow(bus, s, r) : cut(bus, s, r);
    });
    if (rng.chance(0.03)) bus.takes_part[s] = 0;
    if (rng.chance(0.03)) bus.rests[s] = 0;
    if (rng.chance(0.03)) bus.babbles[s] = 1;
    if (rng.chance(0.03)) cut(bus, s, s);
  }
  return bus;
}

}  // namespace

Hearing healthy(std::size_t nodes) {
  const std::vector<char> each(nodes, 1);
  const std::vector<char> pairs(nodes * nodes, 1);
  return {nodes, each, each, pairs, pairs, std::vector<char>(nodes, 0)};
}

const std::vector<FaultClass>& fault_classes() {
  using Kind = FaultClass::Kind;
  static const std::vector<FaultClass> kClasses{
      {"healthy", any_bus},
      {"a node away", node_away},
      {"one alone", alone},
      {"split in two blocks", two_blocks},
      {"split in two and one", two_and_one},
      {"one unheard", unheard},
      {"a deaf talker", deaf_talker},
      {"one held down", held_down},
      {"all held down", all_held_down},
      {"one cannot send", cannot_send},
      {"one does not read itself", reads_not_itself, Kind::kComesAndGoes},
      {"a babbler", babbler},
      {"high and low short", shorted},
      {"slow at one", slow_at_one, Kind::kComesAndGoes},
      {"slow at all", slow_at_all},
      {"slow at one, not for itself", slow_at_one_for_others, Kind::kComesAndGoes},
      {"slow at one for itself", slow_at_one_for_itself, Kind::kComesAndGoes},
      {"slow at one for one", slow_at_one_for_one, Kind::kComesAndGoes},
      {"one misses one", one_misses_one, Kind::kComesAndGoes},
      {"two miss each other", two_miss_each_other, Kind::kComesAndGoes},
      {"blocks that hear one way", one_way_blocks, Kind::kComesAndGoes},
      {"random levels", random_levels, Kind::kRandom},
      {"random links", random_links, Kind::kRandom},
      {"deaf, read by a bus-off one", deaf_talker_read_by_one},
  };
  return kClasses;
}

}  // namespace halfsplit::bus_twin
