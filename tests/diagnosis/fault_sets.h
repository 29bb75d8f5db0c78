// SPDX-License-Identifier: Apache-2.0
// Classic diagnosis by consistency, put as tables for infer: one row per set of faulty parts, one column per
// observation in the order they are made. A cell says "as seen" when the set can explain the observations up to and
// including that one, a faulty part being free to give any value. Nobody slips. Tests only.
#pragma once

#include <bit>
#include <cmath>
#include <cstdint>
#include <functional>
#include <vector>

#include "infer/posterior.h"
#include "infer/test_tables.h"

namespace halfsplit::diagnosis {

using Mask = std::uint64_t;                         // bit i: part i is faulty
using Explains = std::function<std::size_t(Mask)>;  // how many leading observations the set explains

struct FaultSets {
  std::vector<Mask> masks;
  std::vector<infer::Row> rows;
  infer::Posterior posterior;
};

inline std::vector<fault::FaultId> parts_of(Mask mask) {
  std::vector<fault::FaultId> parts;
  for (std::size_t i = 0; i < 64; ++i)
    if ((mask >> i & 1U) != 0) parts.emplace_back(i);
  return parts;
}

inline std::vector<evidence::Prediction> cells_of(std::size_t explained, std::size_t observations) {
  std::vector<evidence::Prediction> cells;
  for (std::size_t c = 0; c < observations; ++c) cells.push_back(infer::test::surely(c < explained ? 0 : 1));
  return cells;
}

inline std::vector<infer::Reading> as_seen(std::size_t observations) {
  return std::vector<infer::Reading>(observations, infer::test::saw_word(evidence::Kind::kAnswers, 0));
}

// Sets of at least one part; each part is faulty with probability p on its own. Prior: p^k (1-p)^(parts-k).
inline FaultSets weigh(const std::vector<Mask>& masks, std::size_t parts, double p, std::size_t observations,
                       const Explains& explains) {
  FaultSets out;
  out.masks = masks;
  std::vector<std::vector<evidence::Prediction>> lines;
  for (const Mask mask : masks) {
    const auto faulty = static_cast<double>(std::popcount(mask));
    const double log_prior = faulty * std::log(p) + (static_cast<double>(parts) - faulty) * std::log1p(-p);
    out.rows.push_back(infer::test::row_of(parts_of(mask), log_prior));
    lines.push_back(cells_of(explains(mask), observations));
  }
  out.posterior =
      infer::compute_posterior(out.rows, infer::test::table_of(lines), as_seen(observations), infer::test::no_noise());
  return out;
}

inline std::vector<Mask> all_sets(std::size_t parts) {
  std::vector<Mask> masks;
  for (Mask mask = 1; mask < (Mask{1} << parts); ++mask) masks.push_back(mask);
  return masks;
}

// Sets of exactly `size` parts, in rising order of the mask.
inline std::vector<Mask> sets_of(std::size_t parts, std::size_t size) {
  std::vector<Mask> masks;
  if (size == 0 || size > parts) return masks;
  Mask mask = (Mask{1} << size) - 1;
  while (mask < (Mask{1} << parts)) {
    masks.push_back(mask);
    const Mask lowest = mask & (~mask + 1);
    const Mask ripple = mask + lowest;
    mask = ((ripple ^ mask) >> 2U) / lowest | ripple;
  }
  return masks;
}

constexpr double kPossible = 1e-30;  // far above what is impossible, far below what is only unlikely

inline std::vector<Mask> possible(const FaultSets& sets) {
  std::vector<Mask> out;
  for (std::size_t r = 0; r < sets.masks.size(); ++r)
    if (sets.posterior.row[r] > kPossible) out.push_back(sets.masks[r]);
  return out;
}

// Possible sets of which no smaller part is possible.
inline std::vector<Mask> minimal(const FaultSets& sets) {
  const std::vector<Mask> all = possible(sets);
  std::vector<Mask> out;
  for (const Mask mask : all) {
    bool is_minimal = true;
    for (const Mask other : all) is_minimal = is_minimal && (other == mask || (other & mask) != other);
    if (is_minimal) out.push_back(mask);
  }
  return out;
}

}  // namespace halfsplit::diagnosis
