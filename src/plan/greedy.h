// SPDX-License-Identifier: Apache-2.0
// Rules that look one step ahead. Quick, and without any promise where setups make costs depend on the order.
//   kBits    the test with most bits about the repair class per minute (setups now and the test; the undoing later is
//   not
//            foreseen); when no test tells anything more, repairs by p over c
//   kEdges   the same with the weight of edges cut between repair classes (gain.h)
//   kRepairs no tests: the repair with most probability per minute (setups, repair, check), p over c; goal kIsolate: as
//   kBits kThrift  the step, test or repair, with most bits per wasted minute (survey.h); tests that need the same
//   setups share
//            the way there. The rule of thumb that the lookahead rolls out.
// Ties go to tests before repairs, then to the lower number.
#pragma once

#include <vector>

#include "plan/decide.h"
#include "plan/situation.h"
#include "plan/survey.h"

namespace halfsplit::plan {

enum class GreedyRule { kBits, kEdges, kRepairs, kThrift };

// kStop when the job has ended or nothing is left that tells anything.
[[nodiscard]] Action choose_greedy(const Problem& problem, const Situation& here, GreedyRule rule);

// The same on a surveyed place, without taking memory once it is warm; the steps' `value` is overwritten.
class Thrift {
 public:
  // nullptr when there are no steps.
  [[nodiscard]] const Step* pick(const Model& model, double mass, double class_bits, std::vector<Step>& steps);

 private:
  struct Rate {
    double bits = 0.0;
    double waste = 0.0;
    [[nodiscard]] bool beats(const Rate& other) const;
  };
  void try_group(std::size_t begin, std::size_t end, double class_bits, Rate& best_rate, const Step*& best);

  std::vector<const Step*> order_;
};

}  // namespace halfsplit::plan
