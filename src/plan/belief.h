// SPDX-License-Identifier: Apache-2.0
// The faults still possible with their weights, and a stack of memory for them: the search goes down into an outcome,
// and gives the memory back when it comes up. Weights are not rescaled, so a belief's mass is the probability of
// getting there. Fingerprints name a place by the faults left, their weights against each other, the uncertain tests
// done that would still tell something, and the setups, so that the same place reached another way is known again.
// Weights are compared as sums of logarithms in whole steps of 2^-36 (model.h). 128 bits: that two places share one is
// taken as impossible.
#pragma once

#include <cstdint>
#include <deque>
#include <span>
#include <vector>

#include "plan/model.h"

namespace halfsplit::plan {

struct Belief {
  const FaultNumber* fault = nullptr;  // rising
  const double* weight = nullptr;      // all above 0
  std::uint32_t count = 0;
  double mass = 0.0;
};

struct Fingerprint {
  std::uint64_t low = 0;
  std::uint64_t high = 0;
  friend bool operator==(const Fingerprint&, const Fingerprint&) = default;
};

class BeliefStack {
 public:
  explicit BeliefStack(const Model& model);

  // Weights by Model fault.
  [[nodiscard]] Belief push(const std::vector<double>& weights);
  [[nodiscard]] Belief push(const Belief& belief);
  // Without the faults below this share of the mass.
  [[nodiscard]] Belief push_likely(const Belief& from, double share);
  [[nodiscard]] Belief push_outcome(const Belief& from, std::size_t test, std::size_t outcome);
  // After a failed repair.
  [[nodiscard]] Belief push_unmended(const Belief& from, std::size_t repair);

  struct Mark {
    std::size_t block = 0;
    std::size_t top = 0;
  };
  [[nodiscard]] Mark mark() const { return at_; }
  void release(Mark mark) { at_ = mark; }

 private:
  struct Block {
    std::vector<FaultNumber> fault;
    std::vector<double> weight;
  };
  // Room for a belief of at most `count` faults; blocks never move, so beliefs below stay valid.
  void reserve(std::size_t count);
  void keep(FaultNumber fault, double weight);
  [[nodiscard]] Belief close(std::size_t begin, double mass);

  const Model* model_;
  std::deque<Block> blocks_;
  Mark at_;
};

// An uncertain outcome that was seen.
struct Seen {
  std::uint16_t test = 0;
  std::uint8_t outcome = 0;
};

// `belief` is what the outcomes in `seen`, and those of sure tests and repairs, have left of one start; prints of
// different starts do not compare.
[[nodiscard]] Fingerprint fingerprint(const Model& model, const Belief& belief, std::span<const Seen> seen,
                                      SetNumber made);

}  // namespace halfsplit::plan
