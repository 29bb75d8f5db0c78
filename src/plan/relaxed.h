// SPDX-License-Identifier: Apache-2.0
// A sharper lower bound for larger problems: what the job would cost at least if readings never misled and if somebody
// said, for nothing, in which of a few groups the fault is. Both can only help, so the best plan of that easier
// problem, found exactly group by group, is a bound for the true one. Minutes.
#pragma once

#include <cstddef>

#include "plan/exact.h"
#include "plan/survey.h"

namespace halfsplit::plan {

// The problem with every uncertain test replaced by one that tells at least as much: for certain which kind of row the
// fault has (rows that nearly agree are one kind) and, now and then, the fault itself (Model::leak).
[[nodiscard]] Model make_relaxed(const Model& model);

class RelaxedBound {
 public:
  explicit RelaxedBound(const Model& model);

  // Least minutes to the end from a place of the true problem, mass-weighted; about `work` looks are spent. Goal
  // kIsolate with uncertain tests: 0, since there a true job may end unresolved where the easier one goes on.
  [[nodiscard]] double value(const Belief& belief, const SetupSet& made, TestList tests, std::size_t work);
  [[nodiscard]] std::size_t work() const { return work_; }

 private:
  struct Place {
    SetNumber made = 0;
    TestList tests;
    std::size_t most_faults = 0;  // groups of more are not tried as a whole
    std::size_t limit = 0;        // of work_
  };
  [[nodiscard]] double of_group(const Belief& belief, const Place& place);
  [[nodiscard]] double of_parts(const Belief& belief, const Place& place);

  Model model_;
  bool applies_ = true;
  Survey survey_;
  ExactSearch search_;
  std::size_t work_ = 0;
};

}  // namespace halfsplit::plan
