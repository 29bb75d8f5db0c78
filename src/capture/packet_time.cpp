// SPDX-License-Identifier: Apache-2.0
#include "capture/packet_time.h"

#include <algorithm>

namespace halfsplit::capture {

namespace {

constexpr std::uint64_t kMillion = 1'000'000;
constexpr std::uint64_t kLargestSeconds = kMicrosecondsTo9999 / kMillion;

struct SecondsAndMicro {
  std::uint64_t seconds, micro;
};

SecondsAndMicro of_two(std::uint64_t ticks, unsigned power) {
  if (power == 0) return {ticks, 0};
  if (power >= 64) return {0, 0};
  std::uint64_t fraction = ticks & ((std::uint64_t{1} << power) - 1);
  const unsigned kept = std::min(power, 40U);  // so that a million times the fraction still fits
  fraction >>= power - kept;
  return {ticks >> power, fraction * kMillion >> kept};
}

SecondsAndMicro of_ten(std::uint64_t ticks, unsigned power) {
  if (power > 19) return {0, 0};
  std::uint64_t second = 1;
  for (unsigned i = 0; i < power; ++i) second *= 10;
  const std::uint64_t fraction = ticks % second;
  return {ticks / second, second <= kMillion ? fraction * (kMillion / second) : fraction / (second / kMillion)};
}

}  // namespace

std::optional<std::int64_t> find_time_us(std::uint64_t ticks, const PacketClock& clock) {
  if (is_plain_clock(clock) && ticks < kMicrosecondsTo9999) return static_cast<std::int64_t>(ticks);
  const unsigned power = clock.resolution & 0x7FU;
  const SecondsAndMicro time = (clock.resolution & 0x80U) != 0 ? of_two(ticks, power) : of_ten(ticks, power);
  constexpr auto kMost = static_cast<std::int64_t>(kLargestSeconds);
  if (time.seconds > kLargestSeconds || clock.offset_s > kMost || clock.offset_s < -kMost) return std::nullopt;
  const std::int64_t seconds = static_cast<std::int64_t>(time.seconds) + clock.offset_s;
  if (seconds < 0 || seconds > kMost) return std::nullopt;
  return seconds * static_cast<std::int64_t>(kMillion) + static_cast<std::int64_t>(time.micro);
}

}  // namespace halfsplit::capture
