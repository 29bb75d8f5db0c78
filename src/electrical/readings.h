// SPDX-License-Identifier: Apache-2.0
// What can be asked of a circuit, and what comes back. Values only.
#pragma once

#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

#include "electrical/meter.h"

namespace halfsplit::electrical {

// A linear reading of the solution: sum of coefficient * unknown.
struct Functional {
  NodeId red, black;  // + volts(red) - volts(black); none: 0 V; between islands 0
  std::size_t branch = 0;
  bool current = false;  // amperes of `branch` instead
};

struct Predicted {
  Measured measured;
  double sigma = 0.0;  // of the circuit's tolerances alone, first order
};

// The parts' tolerances: relative half-width (three sigma) by branch. Handed on without a copy.
class Tolerances {
 public:
  Tolerances() = default;
  Tolerances(std::vector<double> each) : each_(std::make_shared<const std::vector<double>>(std::move(each))) {}
  [[nodiscard]] bool empty() const { return size() == 0; }
  [[nodiscard]] std::size_t size() const { return each_ ? each_->size() : 0; }
  [[nodiscard]] double operator[](std::size_t branch) const { return (*each_)[branch]; }
  [[nodiscard]] bool same_as(const Tolerances& other) const {
    return each_ == other.each_ || (each_ && other.each_ && *each_ == *other.each_);
  }

 private:
  std::shared_ptr<const std::vector<double>> each_;
};

struct BenchCounts {
  std::size_t solves = 0, factors = 0, updates = 0, refactored = 0, general_reads = 0;
  std::size_t as_at_rest = 0;  // readings that the fault in does not reach
  std::size_t landed = 0;      // faults put in that stand as they came to stand before
};

}  // namespace halfsplit::electrical
