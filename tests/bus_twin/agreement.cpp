// SPDX-License-Identifier: Apache-2.0
#include "tests/bus_twin/agreement.h"

#include <algorithm>
#include <cmath>
#include <iomanip>
#include <ostream>

namespace halfsplit::bus_twin {

namespace {

constexpr double kFrameBits = 145.0;  // a frame of eight bytes, pause included, give or take
constexpr double kQuarter = 0.25;     // of the time frames, as docs/formats/buses.md has it

struct Mean {
  std::vector<double> arrives, busy;
};

Mean play_in_turn(const can::Hearing& bus, std::size_t rounds, std::uint64_t seed) {
  Mean mean{std::vector<double>(bus.nodes * bus.nodes, 0.0), std::vector<double>(bus.nodes, 0.0)};
  for (std::size_t k = 0; k < rounds; ++k) {
    Play how;
    how.seed = seed + k;
    how.bits = 80'000;
    how.period_bits = kFrameBits * static_cast<double>(bus.nodes) / kQuarter;
    how.choices.recovered = k % 2 == 0 ? 120 : 127;
    how.choices.counted_at_the_end = k / 2 % 2 == 1;
    const Seen seen = play(bus, how);
    const auto weight = 1.0 / static_cast<double>(rounds);
    for (std::size_t i = 0; i < mean.arrives.size(); ++i) mean.arrives[i] += weight * seen.arrives[i];
    for (std::size_t i = 0; i < mean.busy.size(); ++i) mean.busy[i] += weight * seen.busy[i];
  }
  return mean;
}

void count_pair(Agreement& agreement, double rule, double twin) {
  const double off = std::abs(twin - rule);
  const bool sure = rule == 0.0 || rule == 1.0;
  ++agreement.pairs;
  agreement.near += off <= 0.25 ? 1 : 0;
  agreement.far += off > 0.5 ? 1 : 0;
  agreement.said_sure += sure ? 1 : 0;
  agreement.sure_wrong += sure && off > 0.15 ? 1 : 0;
  agreement.absolute += off;
  agreement.signed_sum += twin - rule;
  agreement.square += off * off;
}

bool about(double rule, double twin) {
  constexpr double kLittle = 0.06;
  return (rule < kLittle && twin < kLittle) || (rule < 3 * twin && twin < 3 * rule);
}

}  // namespace

void Agreement::add(const Agreement& other) {
  buses += other.buses;
  pairs += other.pairs;
  near += other.near;
  far += other.far;
  said_sure += other.said_sure;
  sure_wrong += other.sure_wrong;
  absolute += other.absolute;
  signed_sum += other.signed_sum;
  square += other.square;
  nodes += other.nodes;
  busy_near += other.busy_near;
}

Agreement compare(const can::Hearing& bus, std::size_t rounds, std::uint64_t seed) {
  const can::Traffic rule = can::traffic_of(bus);
  const Mean twin = play_in_turn(bus, rounds, seed);
  Agreement agreement;
  agreement.buses = 1;
  for (std::size_t s = 0; s < bus.nodes; ++s) {
    const double ordinary = kQuarter / static_cast<double>(bus.nodes);
    ++agreement.nodes;
    agreement.busy_near += about(rule.busy[s] * ordinary, twin.busy[s]) ? 1 : 0;
    for (std::size_t r = 0; r < bus.nodes; ++r) {
      const bool counts = s != r && bus.takes_part[s] != 0 && bus.takes_part[r] != 0 && bus.babbles[s] == 0;
      if (counts) count_pair(agreement, rule.arrives[s * bus.nodes + r], twin.arrives[s * bus.nodes + r]);
    }
  }
  return agreement;
}

Agreement compare(const FaultClass& fault, std::size_t buses, std::size_t rounds, std::uint64_t seed) {
  base::Rng rng(seed);
  seed = rng.next() % 1'000'000;
  Agreement all;
  for (std::size_t k = 0; k < buses; ++k) all.add(compare(fault.make(rng), rounds, seed + 100 * k));
  return all;
}

std::ostream& operator<<(std::ostream& out, const Agreement& a) {
  const auto pairs = static_cast<double>(std::max<std::size_t>(a.pairs, 1));
  return out << std::setw(4) << a.buses << " buses " << std::setw(5) << a.pairs << " pairs, within 0.25 "
             << std::setw(5) << a.near << ", off by more than 0.5 " << std::setw(3) << a.far << ", said sure "
             << std::setw(5) << a.said_sure << " wrong " << std::setw(3) << a.sure_wrong << std::fixed
             << std::setprecision(3) << ", mean difference " << a.absolute / pairs << " (twin less rule "
             << std::showpos << a.signed_sum / pairs << std::noshowpos << ", rms " << std::sqrt(a.square / pairs)
             << "), busy " << a.busy_near << " of " << a.nodes;
}

}  // namespace halfsplit::bus_twin
