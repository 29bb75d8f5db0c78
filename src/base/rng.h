// SPDX-License-Identifier: Apache-2.0
// A small seeded generator whose draws are the same on every machine (the standard library's distributions are not).
// Source: SplitMix64 (Steele, Lea, Flood, "Fast Splittable Pseudorandom Number Generators", OOPSLA 2014); constants
// from memory.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

namespace halfsplit::base {

class Rng {
 public:
  explicit Rng(std::uint64_t seed) : state_(seed) {}

  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }

  // In [0, 1).
  double uniform() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }
  double uniform(double low, double high) { return low + (high - low) * uniform(); }
  // Evenly in the logarithm; both ends positive.
  double log_uniform(double low, double high) { return low * std::exp(std::log(high / low) * uniform()); }
  // In [0, count); count > 0.
  std::size_t below(std::size_t count) { return static_cast<std::size_t>(uniform() * static_cast<double>(count)); }
  bool chance(double probability) { return uniform() < probability; }
  // Standard normal (Box-Muller, one of the pair).
  double normal() {
    double u = uniform();
    while (u <= 0.0) u = uniform();
    return std::sqrt(-2.0 * std::log(u)) * std::cos(6.283185307179586 * uniform());
  }

 private:
  std::uint64_t state_;
};

}  // namespace halfsplit::base
