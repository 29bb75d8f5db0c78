// SPDX-License-Identifier: Apache-2.0
// decide() for many situations of one problem: keeps the compiled problem and the buffers. Exact where that is cheap
// enough, lookahead otherwise. The problem must outlive it. Belongs to one caller.
#pragma once

#include "plan/decide.h"
#include "plan/lookahead.h"
#include "plan/relaxed.h"
#include "plan/situation.h"

namespace halfsplit::plan {

class Planner {
 public:
  explicit Planner(const Problem& problem);

  [[nodiscard]] Decision decide(const Situation& here, const DecideOptions& options);

 private:
  [[nodiscard]] Decision end_of_job(const Situation& here, const Start& start) const;
  bool try_exact(const Situation& here, const Start& start, const Lookahead& lookahead, const DecideOptions& options,
                 Decision& decision);
  void describe_action(const Situation& here, Decision& decision) const;
  void fit_in(const Situation& here, const DecideOptions& options, Decision& decision) const;
  void list_candidates(const Lookahead& lookahead, const DecideOptions& options, Decision& decision) const;

  const Problem* problem_;
  Model model_;
  Survey survey_;
  RelaxedBound relaxed_;
};

}  // namespace halfsplit::plan
