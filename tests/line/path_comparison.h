// SPDX-License-Identifier: Apache-2.0
// For tests: what the suspects' fast path predicts (Campaign) against what factorising the faulted circuit anew shows
// (SlowView), fuses that melt at work worked out by each side for itself. A difference is told as the `halfsplit
// expect` line that shows it.
#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "base/rng.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit::test {

class PathComparison {
 public:
  // `loom_file` stands in the lines told. The loom must outlive the comparison.
  PathComparison(const ExampleLoom& loom, std::string loom_file);

  // Every case by every test.
  void compare(const std::vector<predict::Case>& cases, const std::vector<evidence::Observable>& tests);

  [[nodiscard]] std::size_t compared() const { return compared_; }
  [[nodiscard]] const std::vector<std::string>& apart() const { return apart_; }
  // Faults with which the fast path finds a rest where the plain path goes round: told apart from the others.
  [[nodiscard]] const std::set<std::string>& rests_fast_only() const { return rests_fast_only_; }
  // How many of each kind of test.
  [[nodiscard]] const std::map<std::string, std::size_t>& by_kind() const { return by_kind_; }

 private:
  // One moment of a case: its changes in any configuration, melted fuses included.
  struct Moment {
    std::vector<fault::Change> changes;
    double weight = 1.0;
  };
  [[nodiscard]] std::vector<Moment> moments_of(const predict::Case& which) const;
  [[nodiscard]] predict::SlowView view_of(const Moment& moment, const circuit::Configuration& configuration) const;
  void compare_case(const predict::Case& which, const std::vector<evidence::Observable>& tests,
                    const std::vector<const evidence::Prediction*>& fast);
  [[nodiscard]] std::string line_of(const predict::Case& which, const evidence::Observable& what) const;

  const ExampleLoom& loom_;
  std::string loom_file_;
  predict::Scene scene_;
  predict::Campaign campaign_;
  std::size_t compared_ = 0;
  std::vector<std::string> apart_;
  std::set<std::string> rests_fast_only_;
  std::map<std::string, std::size_t> by_kind_;
};

// Tests of every kind in states of every kind, most of them near what these faults sit on.
class TestsNearby {
 public:
  explicit TestsNearby(const ExampleLoom& loom);
  // `count` tests in one configuration, drawn.
  [[nodiscard]] std::vector<evidence::Observable> draw(base::Rng& rng, const std::vector<fault::FaultId>& near,
                                                       std::size_t count) const;

 private:
  [[nodiscard]] circuit::NodeId node_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const;
  [[nodiscard]] circuit::PointId point_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const;
  [[nodiscard]] circuit::Configuration state(base::Rng& rng, const std::vector<fault::FaultId>& near) const;
  template <class Owned>
  [[nodiscard]] std::size_t of_module(base::Rng& rng, const std::vector<fault::FaultId>& near,
                                      const std::vector<Owned>& all) const;
  [[nodiscard]] circuit::PartId load_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const;
  [[nodiscard]] evidence::Observable one(base::Rng& rng, const std::vector<fault::FaultId>& near) const;

  const ExampleLoom& loom_;
  std::vector<std::vector<std::size_t>> elements_at_;  // by node
  std::vector<circuit::PointId> nearest_point_;        // by node
};

}  // namespace halfsplit::test
