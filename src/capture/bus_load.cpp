// SPDX-License-Identifier: Apache-2.0
#include "capture/bus_load.h"

#include <algorithm>

#include "capture/slots.h"

namespace halfsplit::capture {

namespace {

// Common bit rates of vehicle networks (SAE J1939-11, -14; ISO 11898-2), slowest first.
constexpr double kBitRates[] = {250'000.0, 500'000.0, 1'000'000.0};

}  // namespace

// The tenth under way.
void BusLoad::see_peak(ChannelLoad& load, std::uint64_t& most_least) const {
  most_least = std::max(most_least, load_.bits_least - least_at_tenth_);
  const std::uint64_t most = load_.bits_most - most_at_tenth_;
  if (most <= load.peak_bits) return;
  load.peak_bits = most;
  load.peak = tenth_;
}

void BusLoad::next_tenth(const Mark& mark) {
  see_peak(load_, peak_least_);
  const bool adjoining = mark.at_us < tenth_.at_us + 2 * kTenthUs;
  tenth_ = {adjoining ? tenth_.at_us + kTenthUs : mark.at_us, mark.line};
  least_at_tenth_ = load_.bits_least;
  most_at_tenth_ = load_.bits_most;
}

void BusLoad::pair() {
  pair_slots(load_.slots, [](LoadSlot& a, const LoadSlot& b) {
    a.bits += b.bits;
    a.errors += b.errors;
    if (b.least_volts >= 0.0F) {
      a.least_volts = a.least_volts < 0.0F ? b.least_volts : std::min(a.least_volts, b.least_volts);
      a.most_volts = std::max(a.most_volts, b.most_volts);
    }
  });
}

ChannelLoad BusLoad::load(double bit_rate) const {
  ChannelLoad load = load_;
  std::uint64_t least = peak_least_;
  see_peak(load, least);
  load.guessed = bit_rate <= 0.0;
  load.bit_rate = bit_rate;
  if (!load.guessed) return load;
  // The slowest that could have carried the busiest tenth without a single stuff bit.
  load.bit_rate = *std::rbegin(kBitRates);
  for (const double rate : kBitRates) {
    if (static_cast<double>(least) * (1.0e6 / static_cast<double>(kTenthUs)) > rate) continue;
    load.bit_rate = rate;
    break;
  }
  return load;
}

}  // namespace halfsplit::capture
