// SPDX-License-Identifier: Apache-2.0
#include "plan/belief.h"

#include <algorithm>
#include <array>

namespace halfsplit::plan {

namespace {

// SplitMix64's finaliser (base/rng.h) as a hash of what, which and a seed.
std::uint64_t mix(std::uint64_t z) {
  z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
  return z ^ (z >> 31U);
}

void add(Fingerprint& print, std::uint64_t kind, std::uint64_t a, std::uint64_t b) {
  const std::uint64_t key = (kind << 56U) ^ (a << 16U) ^ b;
  print.low ^= mix(key + 0x9E3779B97F4A7C15ULL);
  print.high ^= mix(key * 0xD6E8FEB86659FD93ULL + 0xA0761D6478BD642FULL);
}

// A fault that is left and its weight against the first one's.
void add_weight(Fingerprint& print, std::uint64_t fault, std::int64_t steps) {
  const auto bits = static_cast<std::uint64_t>(steps);
  print.low ^= mix(mix(bits + 0x9E3779B97F4A7C15ULL) + (fault + 1) * 0xA0761D6478BD642FULL);
  print.high ^= mix(mix(bits ^ 0xD6E8FEB86659FD93ULL) + (fault + 1) * 0xE7037ED1A0B428DBULL);
}

// Would a go at the test still tell something?
bool still_tells(const Model& model, const Belief& belief, std::size_t test) {
  const std::size_t k = model.tests[test].outcomes;
  const double* table = model.table.data() + model.tests[test].table;
  const double* first = table + belief.fault[0] * k;
  for (std::uint32_t i = 1; i < belief.count; ++i) {
    if (!std::equal(first, first + k, table + belief.fault[i] * k)) return true;
  }
  return false;
}

}  // namespace

BeliefStack::BeliefStack(const Model& model) : model_(&model) {}

void BeliefStack::reserve(std::size_t count) {
  if (!blocks_.empty() && at_.top + count <= blocks_[at_.block].fault.size()) return;
  if (!blocks_.empty()) ++at_.block;
  at_.top = 0;
  if (at_.block == blocks_.size()) {
    const std::size_t growing = std::size_t{256}
                                << std::min<std::size_t>(blocks_.size(), 6);  // small problems stay small
    const std::size_t size = std::max(growing, model_->fault_count);
    blocks_.push_back({std::vector<FaultNumber>(size), std::vector<double>(size)});
  }
}

inline void BeliefStack::keep(FaultNumber fault, double weight) {
  Block& block = blocks_[at_.block];
  block.fault[at_.top] = fault;
  block.weight[at_.top++] = weight;
}

Belief BeliefStack::close(std::size_t begin, double mass) {
  const Block& block = blocks_[at_.block];
  return {block.fault.data() + begin, block.weight.data() + begin, static_cast<std::uint32_t>(at_.top - begin), mass};
}

Belief BeliefStack::push(const std::vector<double>& weights) {
  reserve(weights.size());
  const std::size_t begin = at_.top;
  double mass = 0.0;
  for (std::size_t f = 0; f < weights.size(); ++f) {
    if (!(weights[f] > 0.0)) continue;
    keep(static_cast<FaultNumber>(f), weights[f]);
    mass += weights[f];
  }
  return close(begin, mass);
}

Belief BeliefStack::push(const Belief& belief) {
  reserve(belief.count);
  const std::size_t begin = at_.top;
  for (std::uint32_t i = 0; i < belief.count; ++i) keep(belief.fault[i], belief.weight[i]);
  return close(begin, belief.mass);
}

Belief BeliefStack::push_likely(const Belief& from, double share) {
  reserve(from.count);
  const std::size_t begin = at_.top;
  double mass = 0.0;
  for (std::uint32_t i = 0; i < from.count; ++i) {
    if (from.weight[i] < share * from.mass) continue;
    keep(from.fault[i], from.weight[i]);
    mass += from.weight[i];
  }
  return close(begin, mass);
}

Belief BeliefStack::push_outcome(const Belief& from, std::size_t test, std::size_t outcome) {
  reserve(from.count);
  const std::size_t begin = at_.top;
  const std::size_t stride = model_->tests[test].outcomes;
  const double* column = model_->table.data() + model_->tests[test].table + outcome;
  double mass = 0.0;
  for (std::uint32_t i = 0; i < from.count; ++i) {
    const double weight = from.weight[i] * column[from.fault[i] * stride];
    if (!(weight > 0.0)) continue;
    keep(from.fault[i], weight);
    mass += weight;
  }
  return close(begin, mass);
}

Belief BeliefStack::push_unmended(const Belief& from, std::size_t repair) {
  reserve(from.count);
  const std::size_t begin = at_.top;
  double mass = 0.0;
  for (std::uint32_t i = 0; i < from.count; ++i) {
    if (model_->does_mend(repair, from.fault[i])) continue;
    keep(from.fault[i], from.weight[i]);
    mass += from.weight[i];
  }
  return close(begin, mass);
}

Fingerprint fingerprint(const Model& model, const Belief& belief, std::span<const Seen> seen, SetNumber made) {
  Fingerprint print;
  add(print, 3, made, 0);
  if (belief.count == 0) return print;
  constexpr std::size_t kMost = 64;  // outcomes that change the weights
  std::array<const std::int64_t*, kMost> columns{};
  std::array<std::size_t, kMost> strides{};
  std::size_t count = 0;
  for (const Seen& s : seen) {
    if (!still_tells(model, belief, s.test)) continue;
    const bool fits = count < kMost;
    add(print, 2, s.test, fits ? 0 : s.outcome + 1U);
    if (!fits) continue;
    const ModelTest& test = model.tests[s.test];
    columns[count] = model.log_steps.data() + test.table + s.outcome;
    strides[count++] = test.outcomes;
  }
  std::int64_t first = 0;
  for (std::uint32_t i = 0; i < belief.count; ++i) {
    std::int64_t steps = 0;
    for (std::size_t c = 0; c < count; ++c) steps += columns[c][belief.fault[i] * strides[c]];
    if (i == 0) first = steps;
    add_weight(print, belief.fault[i], steps - first);
  }
  return print;
}

}  // namespace halfsplit::plan
