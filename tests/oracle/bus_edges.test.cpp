// SPDX-License-Identifier: Apache-2.0

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>

#include "tests/oracle/bus_deck.h"

namespace halfsplit::oracle {
namespace {

constexpr std::uint64_t kEdges = 36;
constexpr double kThreshold = 0.7;
constexpr std::array<double, 4> kParts{0.1, 0.25, 0.5, 0.87};  // of a bit, after the sender lets go

std::uint64_t from_environment(const char* name, std::uint64_t fallback) {
  const char* text = std::getenv(name);
  return text != nullptr ? std::strtoull(text, nullptr, 10) : fallback;
}

// What is wrong with it, as far as edges go.
std::string class_of(const BusTopology& bus) {
  if (bus.class_ != "high resistance") return bus.class_;
  for (const auto& [name, ohm] : bus.faults)
    if (name.ends_with("high")) return ohm < 100.0 ? "to 100 ohm in a line" : ohm < 500.0 ? "to 500 ohm" : "to 2 kohm";
  return bus.class_;
}

struct Row {
  std::size_t edges = 0, other_bit = 0;
  std::array<double, kParts.size()> worst{};
};

// Every seat after every sender: the page's exponential against the cable.
class Edges {
 public:
  Edges(Ngspice& spice, const BusTopology& bus, std::map<std::string, Row>& rows)
      : bus_(bus), deck_(spice, bus), row_(rows[class_of(bus)]) {}

  // False: ngspice had no answer.
  bool run() {
    if (!deck_.settle()) return false;
    const std::optional<DeckLevels> levels = deck_.levels(circuit::bus_kind(bus_.kind).readings.front());
    if (!levels) return false;
    for (std::size_t s = 0; s < levels->seats; s += 4)
      if (deck_.takes_part(s) && !compare(s, *levels)) return false;
    return true;
  }

 private:
  bool compare(std::size_t sender, const DeckLevels& levels) {
    std::vector<double> times_s;
    for (const double part : kParts) times_s.push_back(part * 1.0e-3 / bus_.bit_rate);
    const std::optional<std::vector<std::vector<double>>> cable = deck_.after_edge(sender, times_s);
    if (!cable) return false;
    for (std::size_t r = 0; r < levels.seats; ++r)
      for (std::size_t p = 0; p < kParts.size(); ++p) compare_one(sender, r, p, times_s[p], levels, (*cable)[p][r]);
    return true;
  }
  void compare_one(std::size_t s, std::size_t r, std::size_t part, double after_s, const DeckLevels& levels,
                   double cable) {
    const std::size_t n = levels.seats;
    const double rest = levels.rest_high[r] - levels.rest_low[r];
    const double driven = levels.driven_high[s * n + r] - levels.driven_low[s * n + r];
    const double tau = levels.tau_s[r];
    const double lumped = rest + (driven - rest) * (tau > 0.0 ? std::exp(-after_s / tau) : 0.0);
    row_.worst[part] = std::max(row_.worst[part], std::abs(lumped - cable));
    if (part + 1 < kParts.size()) return;
    ++row_.edges;
    if (driven > kThreshold) row_.other_bit += (lumped > kThreshold) != (cable > kThreshold) ? 1 : 0;
  }

  const BusTopology& bus_;
  BusDeck deck_;
  Row& row_;
};

TEST(BusEdges, OfACableAreNearAnExponentialAtTheSamplePoint) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  const std::uint64_t count = from_environment("HALFSPLIT_EDGES", kEdges);
  std::map<std::string, Row> rows;
  std::size_t without_answer = 0;
  for (std::uint64_t seed = 1; seed <= count; ++seed) {
    const BusTopology bus = random_bus_for_edges(seed);
    without_answer += Edges(*spice, bus, rows).run() ? 0 : 1;
  }
  for (const auto& [name, row] : rows) {
    std::cout << name << ": " << row.edges << " levels, off by at most";
    for (std::size_t p = 0; p < kParts.size(); ++p) std::cout << ' ' << row.worst[p] << " V at " << kParts[p];
    std::cout << " of a bit; " << row.other_bit << " read as the other bit\n";
  }
  EXPECT_LE(without_answer, count / 10);
}

}  // namespace
}  // namespace halfsplit::oracle
